// States that go from rain day to rain day and that nobody need enter: hundred-hour dead fuel by the daily step of the United
// States (core/moisture/time_lag.h), and the soil dryness index (core/wetness/soil_dryness.h), in Tasmania.
//
// The value of rain day D is made of that of D - 1 and of the 24 hours to 09:00 on D, and stands from then; the carried state
// gives it at the end of its day and a reading replaces it at its hour. A day with incomplete weather leaves it as it was.
//   Fuel begins at the equilibrium of its first whole day, flagged spin_up for 20 days, and anew after an incomplete day; more
//   than five incomplete days in a row make it missing.
//   The index begins at 0 and counts after a year (kRunUpDays); after an incomplete day it is flagged until it is read, after
//   more than five it is missing.
#pragma once

#include "core/catalogue/unit_hours.h"

namespace hakea::core {

void compute_hundred_hour_days(UnitHours& hours);
void compute_soil_dryness(UnitHours& hours);

// Their members of the state at the end of rain day `carried.as_of`.
void hand_on_daily_states(const UnitHours& hours, WetnessState& carried);

}  // namespace hakea::core
