#include "core/fire/spread_grassland.h"

#include <cmath>
#include <limits>

#include "core/fire/slope.h"

namespace hakea::core {

double grass_moisture_function(Percent moisture, KilometresPerHour open_wind) {
  const double m = moisture.value();
  if (m < 12) return std::exp(-0.108 * m);
  const double left = open_wind.value() > 10 ? 0.547 - 0.0228 * m : 0.684 - 0.0342 * m;
  return left < 0 ? 0 : left;
}

double grass_curing_function(Percent curing) { return 1.036 / (1 + 103.989 * std::exp(-0.0996 * (curing.value() - 20))); }

double grass_curing_function_1998(Percent curing) { return 1.12 / (1 + 59.2 * std::exp(-0.124 * (curing.value() - 50))); }

MetresPerHour grass_wind_function(GrassState state, KilometresPerHour open_wind) {
  struct Line {
    double slope, at_five, rise;
  };
  Line line{};
  switch (state) {
    case GrassState::natural: line = {0.269, 1.4, 0.838}; break;
    case GrassState::grazed: line = {0.209, 1.1, 0.715}; break;
    case GrassState::eaten_out: line = {0.0992, 0.55, 0.357}; break;
    case GrassState::none: return MetresPerHour::missing();
  }
  const double u = open_wind.value();
  return MetresPerHour(1000 * (u < 5 ? 0.054 + line.slope * u : line.at_five + line.rise * std::pow(u - 5, 0.844)));
}

MetresPerHour grassland_spread(const SpreadInputs& in) {
  return grass_wind_function(in.fuel->grass, in.open_wind) *
         (grass_moisture_function(in.moisture, in.open_wind) * grass_curing_function(in.fuel->curing) * in.fuel->tree_factor *
          in.climb);
}

bool in_grassland_domain(const SpreadInputs& in) {
  const double c = in.fuel->curing.value(), m = in.moisture.value();
  return c >= 20 && c <= 100 && m >= 2 && m <= 24 && in_slope_domain(in.slope) &&
         (in.fuel->grass != GrassState::eaten_out || in.open_wind.value() >= 5);
}

}  // namespace hakea::core
