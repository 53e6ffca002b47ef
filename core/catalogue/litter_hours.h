// The litter of a unit hour by hour: exposed to the sun that comes through its canopy, and sheltered from it.
//
// Both see the same air, rain and sky; the sheltered one never sees the sun itself (the shade of a ridge, a gully, smoke).
// At a sheltered point the litter is sheltered. Value i is the state at the start of hour i; the weather of hour i, with
// the sun of its middle, leads to value i + 1.
//
// The state begins at equilibrium, flagged spin_up for 120 h, unless the carried state gives it at 09:00 standard of its
// day; a reading replaces it at its hour. Up to 24 hours without weather leave it as it was, flagged spin_up again; more
// begin it anew. Without fed radiation a clear sky is taken, dimmed by the cloud cover where that is known (Kasten &
// Czeplak 1980, Solar Energy 24, 177-189 [from memory]): the driest that the sun can do; flagged interpolated.
//
// One-hour fuel in the open (MoistureModel::time_lag) has the lag of its class, no canopy and the whole sun unless its fuel
// says otherwise. Where no wind in a forest is known, the wind at the fuel is that over an open bed.
#pragma once

#include "core/catalogue/unit_hours.h"

namespace hakea::core {

// Whether the unit's fine dead fuel is such a state.
bool has_litter_state(const Fuel& fuel);

inline constexpr int kLitterRunUp = 120;       // h
inline constexpr int kLongestWeatherGap = 24;  // h

// Fills both columns and, with `carried`, the litter members of the state at instant `until`.
void walk_litter(const UnitHours& hours, Column& exposed, Column& sheltered, UtcHour until, WetnessState* carried);

}  // namespace hakea::core
