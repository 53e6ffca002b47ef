#include "core/air/plume_rise.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/air/thermo.h"

namespace hakea::core {
namespace {

constexpr double kHeatCapacity = 1004, kAirDensity = 1.2;  // J kg-1 K-1, kg m-3
constexpr double kStrong = 55;                             // m4 s-3, where the neutral formulas change

}  // namespace

double buoyancy_of_heat(double watts, Kelvin air) {
  return kGravity * watts / (std::numbers::pi * kHeatCapacity * kAirDensity * air.value());
}

double buoyancy_of_stack(MetresPerSecond exit, Metres diameter, Kelvin gas, Kelvin air) {
  return kGravity * exit.value() * diameter.value() * diameter.value() * (gas.value() - air.value()) / (4 * gas.value());
}

Metres PlumeRise::final_rise() const {
  if (stability > 0) {
    const double bent = 2.6 * std::cbrt(buoyancy / (wind_ms * stability));
    const double calm = 4 * std::pow(buoyancy, 0.25) * std::pow(stability, -0.375);
    return Metres(calm < bent ? calm : bent);
  }
  return Metres((buoyancy < kStrong ? 21.425 * std::pow(buoyancy, 0.75) : 38.71 * std::pow(buoyancy, 0.6)) / wind_ms);
}

Metres PlumeRise::final_distance() const {
  if (stability > 0) return Metres(2.0715 * wind_ms / std::sqrt(stability));
  return Metres(buoyancy < kStrong ? 49 * std::pow(buoyancy, 0.625) : 119 * std::pow(buoyancy, 0.4));
}

Metres PlumeRise::rise_at(Metres distance) const {
  const Metres whole = final_rise();
  if (distance >= final_distance()) return whole;
  const double x = std::max(distance.value(), 0.0);
  const double rising = 1.6 * std::cbrt(buoyancy * x * x) / wind_ms;
  return rising < whole.value() ? Metres(rising) : whole;
}

PlumeRise plume_rise(double buoyancy, MetresPerSecond wind, int stability_class, Kelvin air) {
  const double gradient = stability_class == 5 ? 0.020 : stability_class == 6 ? 0.035 : 0;  // K/m
  const double u = wind.value();
  return {buoyancy, u < 1 ? 1 : u, kGravity / air.value() * gradient};
}

}  // namespace hakea::core
