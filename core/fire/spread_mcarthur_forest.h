// A running fire in dry eucalypt forest: the meter of the forest fire danger index, mark 5.
//
// McArthur (1967), Leaflet 107, as equations by Noble, Bary & Gill (1980), Aust. J. Ecol. 5, 201-203. It describes going
// wildfires and is poor where the index is small; for prescribed burning the second choice.
#pragma once

#include "core/base/quantity.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

// R = 0.0012 F W km/h, with the slope factor; F the index, W fine fuel in t/ha.
MetresPerHour mcarthur_forest_spread(const SpreadInputs& in);
// Index from 12 to 100, slope to 20 degrees.
bool in_mcarthur_forest_domain(const SpreadInputs& in);
// Z = 13 R + 0.24 W - 2, R in km/h after the slope; not below 0.
Metres mcarthur_forest_flame_height(TonnesPerHectare load, MetresPerHour spread);

}  // namespace hakea::core
