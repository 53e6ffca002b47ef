#include "core/moisture/grass.h"

namespace hakea::core {

Percent grass_moisture(AirAndHumidity screen) {
  const double m = 9.58 - 0.205 * screen.air.value() + 0.138 * screen.relative_humidity.value();
  return Percent(m < 2 ? 2 : m);
}

bool in_grass_moisture_domain(AirAndHumidity screen, Hours since_rain) {
  const double t = screen.air.value(), h = screen.relative_humidity.value();
  return t >= 10 && t <= 45 && h >= 5 && h <= 80 && since_rain.value() >= 12;
}

}  // namespace hakea::core
