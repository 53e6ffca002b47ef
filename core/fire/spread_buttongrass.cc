#include "core/fire/spread_buttongrass.h"

#include <cmath>

#include "core/fire/slope.h"

namespace hakea::core {

MetresPerHour buttongrass_spread(const SpreadInputs& in) {
  const double m = in.moisture.value();
  const double rate =
      0.678 * std::pow(in.open_wind.value() / 1.2, 1.312) * std::exp(-0.0243 * m) * (1 - std::exp(-0.116 * in.fuel->age_years));
  return MetresPerHour(60 * (m > 100 ? 0 * rate : rate) * in.climb);
}

bool in_buttongrass_domain(const SpreadInputs& in) {
  const auto up_to = [](double v, double highest) { return v >= 0 && v <= highest; };
  return up_to(in.fuel->age_years, 20) && up_to(in.open_wind.value(), 60) && up_to(in.moisture.value(), 100) &&
         in_slope_domain(in.slope);
}

Metres buttongrass_flame_height(KilowattsPerMetre intensity) { return Metres(0.148 * std::pow(intensity.value(), 0.403)); }

}  // namespace hakea::core
