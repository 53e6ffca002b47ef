// Moisture of the dead elevated fuel of heath, per cent of oven-dry weight.
//
// Cruz et al. (2010), report A.10.01, and Anderson et al. (2015), Int. J. Wildland Fire 24, 443-460, with the rain term of
// Marsden-Smedley & Catchpole (2001); read in two transcriptions that agree.
#pragma once

#include "core/weather/humidity.h"

namespace hakea::core {

struct RecentRain {
  Millimetres last_48h;
  Hours since_end;
};

// M = 4.37 + 0.161 H - 0.1 (T - 25) - 0.027 H in the sun + 67.128 (1 - exp(-3.132 r)) exp(-0.0858 t), not below 2 %.
// In the sun: more than 500 W/m2 on level ground.
Percent heath_moisture(AirAndHumidity screen, bool in_the_sun, RecentRain rain);

}  // namespace hakea::core
