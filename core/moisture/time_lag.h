// Dead fuel of the time-lag classes by the fire danger rating of the United States.
//
// Fosberg & Deeming (1971), RM-207, and Bradshaw et al. (1983), INT-169, by Simard's equilibrium; read through the open
// forest library medfate and [from memory]. Per cent of oven-dry weight. The hourly states of the same classes are another
// model (core/moisture/litter.h).
#pragma once

#include "core/weather/humidity.h"

namespace hakea::core {

// What early afternoon air makes of fuel of 1 h and of 10 h: 1.03 and 1.28 times its equilibrium.
Percent afternoon_moisture_1h(Percent simard_equilibrium);
Percent afternoon_moisture_10h(Percent simard_equilibrium);

// 24 hours, for fuel of 100 h.
struct TimeLagDay {
  AirAndHumidity driest, dampest;  // highest temperature with lowest humidity, and the other way round
  Hours daylight;
  Hours rain;  // hours in which it rained
};
Percent hundred_hour_step(Percent before, const TimeLagDay& day);

}  // namespace hakea::core
