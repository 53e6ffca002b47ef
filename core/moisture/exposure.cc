#include "core/moisture/exposure.h"

#include <cmath>

namespace hakea::core {

AirAndHumidity air_at_litter(AirAndHumidity screen, WattsPerSquareMetre absorbed, MetresPerSecond wind) {
  const double u = wind.value() < 0.2 ? 0.2 : wind.value();
  double warming = absorbed.value() / (42.5 * u + 32.7);
  if (warming == 0) return screen;
  if (warming > 30) warming = 30;
  const Celsius fuel(screen.air.value() + warming);
  // es(Ta) / es(Tf) by Bolton (1980), as one exponential.
  const double ratio =
      std::exp(17.67 * (screen.air.value() / (screen.air.value() + 243.5) - fuel.value() / (fuel.value() + 243.5)));
  return {fuel, Percent(screen.relative_humidity.value() * ratio)};
}

double open_bed_wind_share(Metres depth) {
  const double feet = depth.value() > 0 ? depth.value() / 0.3048 : 1;
  return 1.83 / std::log((20 + 0.36 * feet) / (0.13 * feet)) / 1.15;
}

}  // namespace hakea::core
