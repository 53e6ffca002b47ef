// Fire in heath and shrubland.
//
// Anderson et al. (2015), Int. J. Wildland Fire 24, 443-460. The exponent of the wind is 0.9102 in three transcriptions and
// 0.912 in two, half a per cent apart, and the branch under 5 km/h is from memory: provisional until the paper is seen. Near
// the edge of going out, the logistic of Cruz et al. (2010), A.10.01, damps it. No flame height was published; that of
// mallee-heath stands in.
#pragma once

#include "core/base/quantity.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

// R = 5.6715 (omega U)^0.9102 H^0.227 exp(-0.0762 M) m/min; under 5 km/h a line from 5 m/min times the same H and M. omega is
// one over the unit's wind reduction: 0.667 in open shrubland, 0.35 under woodland. Times the damping and the slope factor.
MetresPerHour heath_spread(const SpreadInputs& in);
// The chance that the fire goes, 1 / (1 + exp(-(16.57 + 1.188 U - 2.705 M))).
double heath_damping(KilometresPerHour open_wind, Percent moisture);
// Moisture 4-20 %, slope to 20 degrees (bounds of practice; the paper's were not seen).
bool in_heath_domain(const SpreadInputs& in);

}  // namespace hakea::core
