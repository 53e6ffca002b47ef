// Rain of the 48 hours before each hour, for the moistures that look back on it; and what of it a run hands on.
#pragma once

#include "core/catalogue/unit_hours.h"

namespace hakea::core {

inline constexpr int kRecentRainHours = 48;

// Hours before the record come from the carried state; where it has none they count as dry, flagged spin_up unless it is
// known that they were. Missing where an hour is.
Column rain_of_two_days(const UnitHours& hours);

// Its member of the state at instant `until`.
void hand_on_recent_rain(const UnitHours& hours, UtcHour until, WetnessState& carried);

}  // namespace hakea::core
