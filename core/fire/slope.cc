#include "core/fire/slope.h"

#include <algorithm>
#include <cmath>

namespace hakea::core {

double slope_factor(Degrees slope) {
  const double theta = slope.value();
  if (theta >= 0) return std::exp(0.069 * std::min(theta, 30.0));
  const double s = std::exp2(-theta / 10);  // missing stays missing
  return s / (2 * s - 1);
}

bool in_slope_domain(Degrees slope) { return std::abs(slope.value()) <= 20; }

}  // namespace hakea::core
