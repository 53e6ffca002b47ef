#include "core/moisture/simple.h"

#include <cmath>

namespace hakea::core {

One fuel_moisture_index(AirAndHumidity screen) {
  return One(10 - 0.25 * (screen.air.value() - screen.relative_humidity.value()));
}

One simple_fire_danger_index(One index, KilometresPerHour wind_speed) {
  const double v = wind_speed.value();
  if (!(index.value() > 0)) return One::missing();
  return One((v < 1 ? 1 : v) / index.value());
}

Percent moisture_of_deficit(Hectopascals deficit) { return Percent(5.43 + 52.91 * std::exp(-0.064 * deficit.value())); }
Percent moisture_of_deficit_australia(Hectopascals deficit) { return Percent(6.79 + 27.43 * std::exp(-0.105 * deficit.value())); }

}  // namespace hakea::core
