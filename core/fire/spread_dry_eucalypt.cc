#include "core/fire/spread_dry_eucalypt.h"

#include <cmath>

#include "core/fire/slope.h"

namespace hakea::core {

double dry_eucalypt_moisture_function(Percent moisture) {
  const double m = moisture.value();
  return 18.35 * std::pow(m < 4 ? 4 : m, -1.495);
}

namespace {

double wind_of(const SpreadInputs& in) {
  const double reduction = in.fuel->wind_reduction;
  return std::isnan(reduction) ? in.open_wind.value() : in.open_wind.value() * 3 / reduction;
}

}  // namespace

MetresPerHour dry_eucalypt_spread(const SpreadInputs& in) {
  const Fuel& fuel = *in.fuel;
  const double wind = wind_of(in), high = 100 * fuel.height.value(), height_cm = high > 20 ? 20 : high;
  const double fuels = std::pow(fuel.surface_score, 0.9301) * std::pow(fuel.near_surface_score * height_cm, 0.6366);
  const double above = wind <= 5 ? 0 * fuels : 1.5308 * std::pow(wind - 5, 0.8576) * fuels * 1.03;
  return MetresPerHour((30 + above) * dry_eucalypt_moisture_function(in.moisture) * in.climb);
}

bool in_dry_eucalypt_domain(const SpreadInputs& in) {
  const double wind = wind_of(in), m = in.moisture.value();
  return wind >= 0 && wind <= 25 && m >= 4 && m <= 20 && in_slope_domain(in.slope);
}

Metres dry_eucalypt_flame_height(Metres elevated_height, MetresPerHour spread) {
  return Metres(0.0193 * std::pow(spread.value(), 0.723) * std::exp(0.64 * elevated_height.value()) * 1.07);
}

}  // namespace hakea::core
