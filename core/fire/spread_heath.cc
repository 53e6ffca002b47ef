#include "core/fire/spread_heath.h"

#include <cmath>

#include "core/fire/slope.h"

namespace hakea::core {

double heath_damping(KilometresPerHour open_wind, Percent moisture) {
  return 1 / (1 + std::exp(-(16.57 + 1.188 * open_wind.value() - 2.705 * moisture.value())));
}

MetresPerHour heath_spread(const SpreadInputs& in) {
  constexpr double kCalm = 5, kJoint = 5;  // m/min, km/h
  const double u = in.open_wind.value(), omega = 1 / in.fuel->wind_reduction;
  const auto in_wind = [omega](double wind) { return 5.6715 * std::pow(omega * wind, 0.9102); };
  const double rate = u >= kJoint ? in_wind(u) : kCalm + (in_wind(kJoint) - kCalm) * u / kJoint;
  const double fuel = std::pow(in.fuel->height.value(), 0.227) * std::exp(-0.0762 * in.moisture.value());
  return MetresPerHour(60 * rate * fuel * heath_damping(in.open_wind, in.moisture) * in.climb);
}

bool in_heath_domain(const SpreadInputs& in) {
  return in.moisture.value() >= 4 && in.moisture.value() <= 20 && in_slope_domain(in.slope);
}

}  // namespace hakea::core
