// All limits of a prescription held against one local date, as sets of hours, so that "what if this limit were not there"
// is a matter of leaving a set out.
//
// Offsets count from the first hour of the date's light-up hours; sets are bits of a word, so at most 60 hours. Every set
// comes twice: hours that are in for certain, and hours that are not out (in or unknown).
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "core/prescription/limit_hours.h"
#include "core/prescription/unit_clock.h"

namespace hakea::core {

using HourSet = std::uint64_t;
inline constexpr HourSet kAllHours = ~HourSet{0};

// How sure one must be: only what is known counts, or unknown hours count as in.
enum class Certainty : std::uint8_t { known, possible };

struct Sure {
  HourSet known = kAllHours, possible = kAllHours;
  HourSet operator()(Certainty c) const { return c == Certainty::known ? known : possible; }
};

// One limit on one date.
struct DateLimit {
  Sure hours;               // each_hour: hours of the span
  Sure starts;              // at_start, before: starts of a stretch
  Sure ends;                // hours_after: ends of a stretch (offset of the hour after it)
  Sure tail;                // night_after, days_after: ends whose tail is kept
  std::vector<Sure> pairs;  // window_*, allow_hours: by start, the ends of stretches that keep it
  Fit day = Fit::in;        // same_day
};

struct DateLimits {
  DateHours date;
  int size = 0;                   // light-up hours
  HourSet usable = 0;             // hours not yet ended at `now`
  HourSet recorded = 0;           // of these, hours inside the record
  std::vector<DateLimit> limits;  // in prescription order
};

// Which limits count in a question, and with what.
struct Question {
  std::span<const DateLimit* const> limits;  // those that count; preferences never do
  Certainty certainty = Certainty::known;
  int min_hours = 1;
};

// A stretch of hours by offset: [begin, end).
struct Stretch {
  int begin = 0, end = 0;
  int hours() const { return end - begin; }
};

// The light-up hours that a limit keeps, by offset: of its own hours, or of starts; a day or tail limit keeps all or none.
Sure hours_kept(const LimitHours& hours, const DateLimit& on_date, const DateHours& date);

DateLimit limits_of_date(const LimitHours& hours, const DateHours& date, const UnitClock& clock, int now_index);
DateLimits date_limits(std::span<const LimitHours> limits, const DateHours& date, const UnitClock& clock, int now_index,
                       int record_hours);

// The longest stretch of each span that keeps every start, end and window limit; of equals the earliest.
std::vector<Stretch> stretches(const DateLimits& date, const Question& question);
bool keeps_day(const Question& question);
bool keeps_tail(const Question& question, int end_offset);

}  // namespace hakea::core
