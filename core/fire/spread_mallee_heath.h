// Fire in mallee with a heath understorey.
//
// Cruz et al. (2013), Env. Mod. Softw. 40, 21-34; read in a transcription that cites the paper. The moisture of its fuel is
// not that of heath.
#pragma once

#include "core/base/quantity.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

// The chances that fire spreads, and that it runs in the crowns.
double mallee_goes(KilometresPerHour open_wind, Percent moisture, Percent canopy_cover);
double mallee_crowns(KilometresPerHour open_wind, Percent moisture);

// Surface 3.337 U exp(-0.1284 M) Ho^-0.7073 and crowns 9.5751 U exp(-0.1795 M) (Co / 100)^0.3589 m/min, mixed by the chance of
// crowns; 0 where the chance to spread is under a half. With the slope factor.
MetresPerHour mallee_heath_spread(const SpreadInputs& in);
// Cover over 0 to 100 %, slope to 20 degrees (the paper's bounds were not seen).
bool in_mallee_heath_domain(const SpreadInputs& in);

// exp(-4.142) I^0.633 m.
Metres mallee_heath_flame_height(KilowattsPerMetre intensity);

}  // namespace hakea::core
