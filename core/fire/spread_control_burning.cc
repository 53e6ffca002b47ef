#include "core/fire/spread_control_burning.h"

#include <cmath>

namespace hakea::core {

KilometresPerHour wind_in_regrowth_forest(KilometresPerHour open_wind) {
  return KilometresPerHour(1.674 + 0.179 * open_wind.value());
}

MetresPerHour control_burning_spread(const SpreadInputs& in) {
  const double metres_a_minute =
      0.22 * in.fuel->load.value() * std::exp(0.158 * in.forest_wind.value() - 0.227 * in.moisture.value()) * in.climb;
  return MetresPerHour(60 * metres_a_minute);
}

// The guide's own burns were laid out on gentle ground: its bound of 10 to 15 degrees is what it was made for. The slope factor
// reaches to 20, but it only carries a rate uphill; it does not make the guide's low-intensity fire, its loads and its flame
// heights hold there. So the narrower bound stays, and a steeper unit is computed and flagged.
bool in_control_burning_domain(const SpreadInputs& in) {
  const auto within = [](double v, double lowest, double highest) { return v >= lowest && v <= highest; };
  return within(in.fuel->load.value(), 5, 25) && within(in.moisture.value(), 5, 25) && within(in.forest_wind.value(), 0, 10) &&
         within(in.slope.value(), 0, 15);
}

Metres control_burning_flame_height(TonnesPerHectare load, MetresPerHour spread) {
  return Metres(0.163 * std::pow(load.value(), 0.862) * std::pow(spread.value() / 60, 0.89));
}

Percent control_burning_moisture(Celsius air, Percent relative_humidity, bool is_after_noon) {
  const double t = air.value(), h = relative_humidity.value();
  const double m = is_after_noon ? 6.783 + 0.133 * h - 0.170 * t : 12.519 + 0.122 * h - 0.282 * t;
  return Percent(m < 3 ? 3 : m);
}

}  // namespace hakea::core
