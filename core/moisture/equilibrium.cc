#include "core/moisture/equilibrium.h"

#include <cmath>

namespace hakea::core {
namespace {

double held(Percent humidity, double most) {
  const double h = humidity.value();
  return h < 1 ? 1 : h > most ? most : h;  // missing stays missing
}

}  // namespace

EquilibriumMoisture equilibrium_moisture(AirAndHumidity air) {
  const double t = air.air.value();
  const double h = held(air.relative_humidity, 100);
  const double log_h = std::log(h);
  const double wet_air = std::exp((h - 100) / 10);
  const double warmth = 0.18 * (21.1 - t) * (1 - std::exp(-0.115 * h));
  return {Percent(0.942 * std::exp(0.679 * log_h) + 11 * wet_air + warmth),
          Percent(0.618 * std::exp(0.753 * log_h) + 10 * wet_air + warmth)};
}

Percent simard_equilibrium_moisture(AirAndHumidity air) {
  const double h = held(air.relative_humidity, 100), f = 32 + 1.8 * air.air.value();
  if (h < 10) return Percent(0.03229 + 0.281073 * h - 0.000578 * h * f);
  if (h <= 50) return Percent(2.22749 + 0.160107 * h - 0.014784 * f);
  return Percent(21.0606 + 0.005565 * h * h - 0.00035 * h * f - 0.483199 * h);
}

Percent nelson_equilibrium_moisture(AirAndHumidity air) {
  constexpr double kGasConstant = 1.987, kWater = 18.0153;  // cal/(mol K), g/mol
  constexpr double kAlpha = 0.31, kBeta = -0.062;           // fractions
  const double h = held(air.relative_humidity, 99);
  const double energy = -kGasConstant * to<Kelvin>(air.air).value() / kWater * std::log(h / 100);
  return Percent(100 * (kAlpha + kBeta * std::log(energy)));
}

}  // namespace hakea::core
