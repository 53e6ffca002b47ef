#include "core/fire/spread_mallee_heath.h"

#include <cmath>

#include "core/fire/slope.h"

namespace hakea::core {
namespace {

double logistic(double x) { return 1 / (1 + std::exp(-x)); }

}  // namespace

double mallee_goes(KilometresPerHour open_wind, Percent moisture, Percent canopy_cover) {
  return logistic(14.624 + 0.2066 * open_wind.value() - 1.8719 * moisture.value() - 0.030442 * canopy_cover.value());
}

double mallee_crowns(KilometresPerHour open_wind, Percent moisture) {
  return logistic(-11.138 + 1.4054 * open_wind.value() - 3.4217 * moisture.value());
}

MetresPerHour mallee_heath_spread(const SpreadInputs& in) {
  const double u = in.open_wind.value(), m = in.moisture.value();
  const double surface = 3.337 * u * std::exp(-0.1284 * m) * std::pow(in.fuel->canopy_height.value(), -0.7073);
  const double crown = 9.5751 * u * std::exp(-0.1795 * m) * std::pow(in.fuel->canopy_cover.value() / 100, 0.3589);
  const double in_crowns = mallee_crowns(in.open_wind, in.moisture);
  double rate = (1 - in_crowns) * surface + in_crowns * crown;
  if (in_crowns <= 0.01) rate = surface + 0 * crown;
  if (in_crowns > 0.99) rate = crown + 0 * surface;
  if (mallee_goes(in.open_wind, in.moisture, in.fuel->canopy_cover) < 0.5) rate = 0 * rate;  // missing stays missing
  return MetresPerHour(60 * rate * in.climb);
}

bool in_mallee_heath_domain(const SpreadInputs& in) {
  return in.fuel->canopy_cover.value() > 0 && in.fuel->canopy_cover.value() <= 100 && in_slope_domain(in.slope);
}

Metres mallee_heath_flame_height(KilowattsPerMetre intensity) {
  return Metres(std::exp(-4.142) * std::pow(intensity.value(), 0.633));
}

}  // namespace hakea::core
