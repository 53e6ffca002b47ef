#include "core/fire/spread_mcarthur_forest.h"

#include <cmath>

#include "core/fire/slope.h"

namespace hakea::core {

MetresPerHour mcarthur_forest_spread(const SpreadInputs& in) {
  return MetresPerHour(1000 * 0.0012 * in.ffdi.value() * in.fuel->load.value() * in.climb);
}

bool in_mcarthur_forest_domain(const SpreadInputs& in) {
  return in.ffdi.value() >= 12 && in.ffdi.value() <= 100 && in_slope_domain(in.slope);
}

Metres mcarthur_forest_flame_height(TonnesPerHectare load, MetresPerHour spread) {
  const double z = 13 * spread.value() / 1000 + 0.24 * load.value() - 2;
  return Metres(z < 0 ? 0 : z);
}

}  // namespace hakea::core
