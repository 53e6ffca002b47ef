#include "core/moisture/heath.h"

#include <cmath>

namespace hakea::core {

Percent heath_moisture(AirAndHumidity screen, bool in_the_sun, RecentRain rain) {
  const double t = screen.air.value(), h = screen.relative_humidity.value();
  const double wet = rain.last_48h.value() > 0
                         ? 67.128 * (1 - std::exp(-3.132 * rain.last_48h.value())) * std::exp(-0.0858 * rain.since_end.value())
                         : rain.last_48h.value();  // 0, or missing
  const double m = 4.37 + 0.161 * h - 0.1 * (t - 25) - (in_the_sun ? 0.027 * h : 0) + wet;
  return Percent(m < 2 ? 2 : m);
}

}  // namespace hakea::core
