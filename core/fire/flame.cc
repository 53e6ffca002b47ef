#include "core/fire/flame.h"

#include <cmath>

namespace hakea::core {
namespace {

constexpr double kLethal = 60;  // degC

}  // namespace

KilowattsPerMetre fireline_intensity(TonnesPerHectare load, MetresPerHour spread, double heat_yield) {
  return KilowattsPerMetre(heat_yield * load.value() * spread.value() / 36000);  // t/ha and m/h to kg/m2 and m/s
}

Metres flame_length(KilowattsPerMetre intensity) { return Metres(0.0775 * std::pow(intensity.value(), 0.46)); }

Metres thomas_flame_length(KilowattsPerMetre intensity) {
  const double root = std::cbrt(intensity.value());
  return Metres(0.0266 * root * root);
}

Metres mean_air_scorch_height(KilowattsPerMetre intensity) {
  const double root = std::cbrt(intensity.value());
  return Metres(0.1483 * root * root);
}

Metres scorch_height(KilowattsPerMetre intensity, Celsius air) {
  if (!(air.value() < kLethal)) return Metres::missing();
  const double root = std::cbrt(intensity.value());
  return Metres(4.4713 * root * root / (kLethal - air.value()));
}

Metres scorch_height(KilowattsPerMetre intensity, Celsius air, KilometresPerHour wind) {
  if (!(air.value() < kLethal)) return Metres::missing();
  const double i = intensity.value(), u = wind.value();
  if (i == 0) return Metres(0);
  return Metres(0.74183 * std::pow(i, 7.0 / 6) / (std::sqrt(0.025574 * i + 0.021433 * u * u * u) * (kLethal - air.value())));
}

Metres control_burning_scorch_height(Metres flame_height) { return Metres(5.232 * std::pow(flame_height.value(), 0.756)); }

}  // namespace hakea::core
