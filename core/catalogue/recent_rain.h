// Rain of the 48 hours before each hour, for the moistures that look back on it; and what of it a run hands on.
#pragma once

#include "core/catalogue/unit_hours.h"

namespace hakea::core {

inline constexpr int kRecentRainHours = 48;

struct RainOfTwoDays {
  Column amount;     // mm
  Column since_end;  // h since the end of the last hour with any of it, however little; 48 where there was none
};
// Hours before the record come from the carried state, or from the last rain that a person entered. Missing where an hour
// is, and (no_state) where nobody says and the rain before is not known to have ended earlier.
RainOfTwoDays rain_of_two_days(const UnitHours& hours);

// Its member of the state at instant `until`.
void hand_on_recent_rain(const UnitHours& hours, UtcHour until, WetnessState& carried);

}  // namespace hakea::core
