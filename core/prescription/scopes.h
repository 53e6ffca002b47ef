// Which hours each scope of a limit covers, and what they say (INTERFACE §3 "Scopes").
//
// For a window [start, end) by hour index and the date it starts on. Amounts are summed over before, same_day, night_after
// and days_after; of other quantities every hour is asked. A value outside decides at once, even if other hours are missing.
#pragma once

#include <utility>

#include "core/prescription/limit_hours.h"
#include "core/prescription/unit_clock.h"

namespace hakea::core {

// at_start: the first hour. before: the hours that end at the start, or the local dates before.
StretchValue start_value(const LimitHours& hours, const DateHours& date, const UnitClock& clock, int start);

// window_mean, window_min, window_max, and each_hour with allow_hours (with its hours_after).
bool is_asked_of_stretch(const Limit& limit);
StretchValue window_value(const LimitHours& hours, int begin, int end);

// same_day: all hours of the date, of a daily quantity the value determined on it; past hours without a value are left out.
StretchValue day_value(const LimitHours& hours, const DateHours& date, int now_index);

// night_after: from the later of the end and sunset to the following sunrise. days_after: from the end to the end of the
// n-th local date after the date.
bool is_tail(const Limit& limit);
std::pair<int, int> tail_hours(const Limit& limit, const DateHours& date, const UnitClock& clock, int end);
StretchValue tail_value(const LimitHours& hours, const DateHours& date, const UnitClock& clock, int end);

}  // namespace hakea::core
