// Air at the litter in the sun.
//
// Byram & Jemison (1943), J. Agric. Res. 67, 149-176, in the metric form of Viney (1991), Int. J. Wildland Fire 1, 215-234;
// read through the open forest library medfate. The vapour of the air stays, so the humidity falls as the fuel warms.
#pragma once

#include "core/weather/humidity.h"

namespace hakea::core {

// `absorbed` at the litter, `wind` at the litter (at least 0.2 m/s is assumed). The warming is held to 30 degC.
AirAndHumidity air_at_litter(AirAndHumidity screen, WattsPerSquareMetre absorbed, MetresPerSecond wind);

}  // namespace hakea::core
