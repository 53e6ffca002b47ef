// Fire in open grassland, and under scattered trees.
//
// Cheney, Gould & Catchpole (1998), Int. J. Wildland Fire 8, 1-13, with the curing of Cruz et al. (2015), IJWF 24, 838-848.
// Among trees the spread is the open one's times a factor: 0.5 woodland, 0.3 open forest (Cheney & Sullivan 1997, Grassfires
// [from memory]).
#pragma once

#include "core/base/quantity.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

// Share that fuel moisture leaves: exp(-0.108 M) under 12 %, then a line, gentler in wind over 10 km/h; 0 from 20 or 24 %.
double grass_moisture_function(Percent moisture, KilometresPerHour open_wind);
// Share that curing leaves: 1.036 / (1 + 103.989 exp(-0.0996 (C - 20))).
double grass_curing_function(Percent curing);
// The same of 1998, which has next to no spread under 50 %: 1.12 / (1 + 59.2 exp(-0.124 (C - 50))).
double grass_curing_function_1998(Percent curing);
// Of cured, bone-dry grass: a line to 5 km/h, then a power of the wind beyond it. For eaten-out pasture the line from calm to
// the published 0.55 km/h at 5 km/h is ours.
MetresPerHour grass_wind_function(GrassState state, KilometresPerHour open_wind);

// The product of the three and of the factor of the trees, with McArthur's slope factor.
MetresPerHour grassland_spread(const SpreadInputs& in);
// Curing 20-100 %, moisture 2-24 %, slope to 20 degrees; eaten-out from 5 km/h.
bool in_grassland_domain(const SpreadInputs& in);

}  // namespace hakea::core
