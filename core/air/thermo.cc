#include "core/air/thermo.h"

#include <cmath>

#include "core/base/numbers.h"

namespace hakea::core {
namespace {

constexpr double kTropopause = 11000, kTropopauseKelvin = 216.65, kTropopauseHpa = 226.3206;
constexpr double kEarthRadius = 6356766;  // m

}  // namespace

double exner(Hectopascals pressure) { return std::pow(pressure.value() / 1000, kKappa); }

Kelvin potential_temperature(Hectopascals pressure, Kelvin temperature) { return Kelvin(temperature.value() / exner(pressure)); }

Kelvin virtual_temperature(Hectopascals pressure, Kelvin temperature, Hectopascals vapour_pressure) {
  const double p = pressure.value(), e = vapour_pressure.value();
  if (!(e < p)) return Kelvin::missing();
  return Kelvin(temperature.value() * p / (p - (1 - kVapourRatio) * e));
}

CondensationLevel lifting_condensation_level(Hectopascals pressure, Kelvin temperature, Kelvin dew_point) {
  const double t = temperature.value(), td = dew_point.value();
  const double at = 1 / (1 / (td - 56) + std::log(t / td) / 800) + 56;
  return {Hectopascals(pressure.value() * std::pow(at / t, 1 / kKappa)), Kelvin(at)};
}

Metres thickness(Hectopascals below, Hectopascals above, Kelvin mean) {
  return Metres(kDryAirConstant * mean.value() / kGravity * std::log(below.value() / above.value()));
}

Kelvin standard_temperature(Metres geopotential_height) {
  const double h = geopotential_height.value();
  if (!(h >= -2000 && h <= 20000)) return Kelvin::missing();
  return Kelvin(h <= kTropopause ? 288.15 - kLapse * h : kTropopauseKelvin);
}

Hectopascals standard_pressure(Metres geopotential_height) {
  const double h = geopotential_height.value(), t = standard_temperature(geopotential_height).value();
  if (h > kTropopause) return Hectopascals(kTropopauseHpa * std::exp(-kGravity * (h - kTropopause) / (kStandardGas * t)));
  return Hectopascals(1013.25 * std::pow(t / 288.15, kGravity / (kStandardGas * kLapse)));
}

Metres standard_height(Hectopascals pressure) {
  if (!(pressure.value() >= kTropopauseHpa)) return Metres(kNaN);
  return Metres(288.15 / kLapse * (1 - std::pow(pressure.value() / 1013.25, kStandardGas * kLapse / kGravity)));
}

Metres geometric_height(Metres geopotential_height) {
  const double z = geopotential_height.value();
  return Metres(kEarthRadius * z / (kEarthRadius - z));
}

Metres geopotential_height(Metres geometric_height) {
  const double z = geometric_height.value();
  return Metres(kEarthRadius * z / (kEarthRadius + z));
}

}  // namespace hakea::core
