// Moisture of the dead elevated fuel of heath, mallee and moorland, per cent of oven-dry weight.
//
// Heath: Cruz et al. (2010), report A.10.01, and Anderson et al. (2015), Int. J. Wildland Fire 24, 443-460; read in two
// transcriptions that agree. Mallee: Cruz et al. (2015) as used for the national fire behaviour index; another line circulates
// that is 1 to 4 points drier. Buttongrass: Marsden-Smedley & Catchpole (2001), Int. J. Wildland Fire 10, 241-253 and
// Marsden-Smedley et al. (1999), Tasforests 11 [from memory], in three transcriptions; its rain term stands in all three.
#pragma once

#include "core/weather/humidity.h"

namespace hakea::core {

struct RecentRain {
  Millimetres last_48h;
  Hours since_end;
};

// What the rain of two days adds: 67.128 (1 - exp(-3.132 r)) exp(-0.0858 t); 0 without any.
Percent moisture_of_rain(RecentRain rain);

// M = 4.37 + 0.161 H - 0.1 (T - 25) - 0.027 H in the sun, and the rain; not below 2 %.
// In the sun: more than 500 W/m2 on level ground.
Percent heath_moisture(AirAndHumidity screen, bool in_the_sun, RecentRain rain);

// M = 4.79 + 0.173 H - 0.1 (T - 25) - 0.027 H in the sun, and the rain; not below 2 %.
Percent mallee_heath_moisture(AirAndHumidity screen, bool in_the_sun, RecentRain rain);

// M = exp(1.660 + 0.0214 H - 0.0292 Td), and the rain.
Percent buttongrass_moisture(Percent relative_humidity, Celsius dew_point, RecentRain rain);

}  // namespace hakea::core
