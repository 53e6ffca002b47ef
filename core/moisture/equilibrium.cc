#include "core/moisture/equilibrium.h"

#include <cmath>

namespace hakea::core {

EquilibriumMoisture equilibrium_moisture(AirAndHumidity air) {
  const double t = air.air.value();
  double h = air.relative_humidity.value();
  h = h < 1 ? 1 : h > 100 ? 100 : h;
  const double log_h = std::log(h);
  const double wet_air = std::exp((h - 100) / 10);
  const double warmth = 0.18 * (21.1 - t) * (1 - std::exp(-0.115 * h));
  return {Percent(0.942 * std::exp(0.679 * log_h) + 11 * wet_air + warmth),
          Percent(0.618 * std::exp(0.753 * log_h) + 10 * wet_air + warmth)};
}

}  // namespace hakea::core
