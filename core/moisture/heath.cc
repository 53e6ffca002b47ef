#include "core/moisture/heath.h"

#include <cmath>

namespace hakea::core {
namespace {

Percent elevated_fuel(double base, double per_humidity, AirAndHumidity screen, bool in_the_sun, RecentRain rain) {
  const double t = screen.air.value(), h = screen.relative_humidity.value();
  const double m = base + per_humidity * h - 0.1 * (t - 25) - (in_the_sun ? 0.027 * h : 0) + moisture_of_rain(rain).value();
  return Percent(m < 2 ? 2 : m);
}

}  // namespace

Percent moisture_of_rain(RecentRain rain) {
  const double r = rain.last_48h.value();
  if (!(r > 0)) return Percent(r);  // 0, or missing
  return Percent(67.128 * (1 - std::exp(-3.132 * r)) * std::exp(-0.0858 * rain.since_end.value()));
}

Percent heath_moisture(AirAndHumidity screen, bool in_the_sun, RecentRain rain) {
  return elevated_fuel(4.37, 0.161, screen, in_the_sun, rain);
}

Percent mallee_heath_moisture(AirAndHumidity screen, bool in_the_sun, RecentRain rain) {
  return elevated_fuel(4.79, 0.173, screen, in_the_sun, rain);
}

Percent buttongrass_moisture(Percent relative_humidity, Celsius dew_point, RecentRain rain) {
  const double dry = std::exp(1.660 + 0.0214 * relative_humidity.value() - 0.0292 * dew_point.value());
  return Percent(dry + moisture_of_rain(rain).value());
}

}  // namespace hakea::core
