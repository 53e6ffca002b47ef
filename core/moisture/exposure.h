// Air at the litter in the sun.
//
// Byram & Jemison (1943), J. Agric. Res. 67, 149-176, in the metric form of Viney (1991), Int. J. Wildland Fire 1, 215-234;
// read through the open forest library medfate. The vapour of the air stays, so the humidity falls as the fuel warms.
#pragma once

#include "core/weather/humidity.h"

namespace hakea::core {

// `absorbed` at the litter, `wind` at the litter (at least 0.2 m/s is assumed). The warming is held to 30 degC.
AirAndHumidity air_at_litter(AirAndHumidity screen, WattsPerSquareMetre absorbed, MetresPerSecond wind);

// Wind at the middle of the flames of an open fuel bed, as a share of that at 10 m: Albini & Baughman (1979), INT-221, from
// the wind at 20 ft, which is 1/1.15 of it [from memory]. A bed of unknown depth counts as one foot deep.
double open_bed_wind_share(Metres depth);

}  // namespace hakea::core
