// Fosberg's fire weather index.
//
// Fosberg (1978), Proc. Conf. on Sierra Nevada Meteorology, 1-4; read in two open transcriptions that agree. 0 to 100; 100 is a
// wind of 30 mi/h over fuel without moisture.
#pragma once

#include "core/base/quantity.h"

namespace hakea::core {

// `equilibrium` by Simard.
One fosberg_index(Percent equilibrium, KilometresPerHour wind_speed);

}  // namespace hakea::core
