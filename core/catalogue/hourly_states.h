// States that go from hour to hour with the weather of the open: the hourly fine fuel moisture code, and dead fuel of the
// one-, ten- and hundred-hour classes.
//
// Value i is the state at the start of hour i; the weather of hour i leads to value i + 1. Dead fuel: the hourly litter
// step (core/moisture/litter.h) with the lags of its class, towards the equilibrium of the screen's air, neither in the sun
// nor under a canopy.
//
// Each begins at the equilibrium of its first hour, flagged spin_up for 120 h (500 h for the hundred-hour class), unless the
// carried state gives it at 09:00 standard of its day; a reading replaces it at its hour. An entered daily code stands for
// the hourly one at its noon, flagged spin_up for a day. Up to 24 hours without weather leave a state as it was, flagged
// anew; more begin it anew.
#pragma once

#include "core/catalogue/unit_hours.h"

namespace hakea::core {

enum class FuelClass { one_hour, ten_hour, hundred_hour };

void compute_hourly_ffmc(UnitHours& hours);
void compute_dead_fuel_moisture(UnitHours& hours, FuelClass fuel);

// Their members of the state at instant `until`, from computed equilibrium columns.
void hand_on_hourly_states(const UnitHours& hours, UtcHour until, WetnessState& carried);

}  // namespace hakea::core
