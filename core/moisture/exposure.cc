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

}  // namespace hakea::core
