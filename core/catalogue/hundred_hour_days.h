// Hundred-hour dead fuel by the daily step of the United States (core/moisture/time_lag.h), one step a rain day.
//
// The value of rain day D is made of that of D - 1 and of the 24 hours to 09:00 on D, and stands from then. It begins at the
// equilibrium of its first whole day, flagged spin_up for 20 days, unless the carried state gives it; a reading replaces it.
// A day with incomplete weather leaves it as it was, flagged anew; more than five in a row make it missing (gap).
#pragma once

#include "core/catalogue/unit_hours.h"

namespace hakea::core {

void compute_hundred_hour_days(UnitHours& hours);
// The member of the state at the end of rain day `carried.as_of`.
void hand_on_hundred_hour_days(const UnitHours& hours, WetnessState& carried);

}  // namespace hakea::core
