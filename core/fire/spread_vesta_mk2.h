// A running fire in eucalypt forest, litter to crowns.
//
// Cruz et al. (2022), Int. J. Wildland Fire 31, 81-95 ("Vesta mark 2"); every copy found goes back to one transcriber. At wind
// in the forest of 2 km/h the first phase jumps, so something there is mis-transcribed: under 3 km/h it is out of its domain,
// and no fuel type of ours names it. The shares of moisture and of availability are sound by their joints.
#pragma once

#include "core/base/quantity.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

// Share that moisture leaves: 1 to 4.1 %, a quartic to 24 %, 0 beyond.
double vesta_moisture_function(Percent moisture);
// Share of the fuel that is available, by the drought factor: 1.008 / (1 + 104.9 exp(-0.9306 D)).
double vesta_availability(One drought_factor);
// What a wet forest takes off the drought factor: 0 to 1, by wind reduction (3 to 5) and drought index; 1 in dry forest.
double wet_forest_share(double wind_reduction, Millimetres kbdi);

// Three phases mixed by the chance of each to pass to the next. Load of surface and near-surface fuel, elevated score and
// height, wind reduction; the slope factor on the first two.
MetresPerHour vesta_mk2_spread(const SpreadInputs& in);
// Wind in the forest from 3 km/h, moisture 4-24 %, slope to 20 degrees.
bool in_vesta_mk2_domain(const SpreadInputs& in);

}  // namespace hakea::core
