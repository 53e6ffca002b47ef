#include "core/fire/fosberg.h"

#include <algorithm>
#include <cmath>

namespace hakea::core {

One fosberg_index(Percent equilibrium, KilometresPerHour wind_speed) {
  constexpr double kKilometresPerMile = 1.609344;
  const double m = equilibrium.value() / 30, u = wind_speed.value() / kKilometresPerMile;
  const double damping = 1 - 2 * m + 1.5 * m * m - 0.5 * m * m * m;
  const double index = damping * std::sqrt(1 + u * u) / 0.3002;
  return One(std::isnan(index) ? index : std::clamp(index, 0.0, 100.0));
}

}  // namespace hakea::core
