// A line of fire in dry eucalypt forest in summer.
//
// Cheney, Gould, McCaw & Anderson (2012), For. Ecol. Manage. 280, 120-131, fuel by hazard score; read in transcriptions of
// several lineages that agree. Made from lines of fire over 100 m wide: it over-predicts fires lit from points.
#pragma once

#include "core/base/quantity.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

// 18.35 M^-1.495, held at its value of 4 % in drier fuel.
double dry_eucalypt_moisture_function(Percent moisture);

// R = 30 phi, and beyond 5 km/h [30 + 1.5308 (U - 5)^0.8576 FHSs^0.9301 (FHSns Hns)^0.6366 1.03] phi, m/h, with the slope factor.
// Scores 0-4, Hns near-surface height, not more than 20 cm. U is the open wind; a unit's own wind reduction w makes it
// 3 U / w, 3 being that of the forest of the experiments.
MetresPerHour dry_eucalypt_spread(const SpreadInputs& in);
// Wind 0-25 km/h, moisture 4-20 % (most experiments 4-10), slope to 20 degrees; over 20 % fire is not sustained.
bool in_dry_eucalypt_domain(const SpreadInputs& in);

// Hf = 0.0193 R^0.723 exp(0.64 He) 1.07, He height of the elevated fuel.
Metres dry_eucalypt_flame_height(Metres elevated_height, MetresPerHour spread);

}  // namespace hakea::core
