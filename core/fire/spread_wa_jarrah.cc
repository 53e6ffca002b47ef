#include "core/fire/spread_wa_jarrah.h"

#include <cmath>

#include "core/fire/slope.h"

namespace hakea::core {

namespace {

// Falls under 0 in calm over damp litter.
double fitted_index(double s, double v) {
  return (21.37 - 3.42 * s + 0.085 * s * s) +
         (48.09 * s * std::exp(-0.6 * s) + 11.9) * std::exp(v * (0.44 - 0.0096 * std::pow(s, 1.05)));
}

}  // namespace

MetresPerHour jarrah_danger_index(Percent surface_moisture, KilometresPerHour forest_wind) {
  const double s = surface_moisture.value(), v = forest_wind.value();
  if (s > 27) return MetresPerHour(0 * v);
  const double index = fitted_index(s, v);
  return MetresPerHour(index < 0 ? 0 : index);
}

double jarrah_fuel_correction(TonnesPerHectare load, Percent surface_moisture) {
  const double w = load.value(), s = surface_moisture.value();
  if (w < 8) return 1.02 / (1 + 7266.83 * std::exp(-1.36 * w)) + 0.1;
  if (s <= 9) return (6.03 + 5.81 * w) / 53.44;
  if (s <= 18) return (11.19 + 2.92 * w) / 35.02;
  return (0.055 + 0.0023 * w) / 0.074;
}

MetresPerHour wa_jarrah_spread(const SpreadInputs& in) {
  return jarrah_danger_index(in.moisture, in.forest_wind) * (jarrah_fuel_correction(in.fuel->load, in.moisture) * in.climb);
}

bool in_wa_jarrah_domain(const SpreadInputs& in) {
  return fitted_index(in.moisture.value(), in.forest_wind.value()) >= 0 && in.moisture.value() >= 3 &&
         in.moisture.value() <= 27 && in_slope_domain(in.slope);
}

}  // namespace hakea::core
