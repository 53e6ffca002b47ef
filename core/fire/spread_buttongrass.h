// Fire in buttongrass moorland.
//
// Marsden-Smedley & Catchpole (1995), Int. J. Wildland Fire 5, 203-228; Marsden-Smedley et al. (1999), Tasforests 11.
#pragma once

#include "core/base/quantity.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

// R = 0.678 U^1.312 exp(-0.0243 M) (1 - exp(-0.116 A)) m/min: U the wind at 1.7 m, open wind / 1.2; A years since fire; 0 over
// 100 % moisture, with the slope factor.
MetresPerHour buttongrass_spread(const SpreadInputs& in);
// Age to 20 years, open wind to 60 km/h, moisture to 100 %, slope to 20 degrees.
bool in_buttongrass_domain(const SpreadInputs& in);

// 0.148 I^0.403 m [from memory].
Metres buttongrass_flame_height(KilowattsPerMetre intensity);

}  // namespace hakea::core
