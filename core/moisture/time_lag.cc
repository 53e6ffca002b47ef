#include "core/moisture/time_lag.h"

#include <cmath>

#include "core/moisture/equilibrium.h"

namespace hakea::core {

Percent afternoon_moisture_1h(Percent simard_equilibrium) { return simard_equilibrium * 1.03; }
Percent afternoon_moisture_10h(Percent simard_equilibrium) { return simard_equilibrium * 1.28; }

Percent hundred_hour_step(Percent before, const TimeLagDay& day) {
  const double light = day.daylight.value(), rain = day.rain.value();
  const double air = (light * simard_equilibrium_moisture(day.driest).value() +
                      (24 - light) * simard_equilibrium_moisture(day.dampest).value()) /
                     24;
  const double boundary = ((24 - rain) * air + rain * (0.5 * rain + 41)) / 24;
  static const double share = 1 - 0.87 * std::exp(-0.24);
  return Percent(before.value() + (boundary - before.value()) * share);
}

}  // namespace hakea::core
