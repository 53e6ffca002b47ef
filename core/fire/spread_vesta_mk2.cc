#include "core/fire/spread_vesta_mk2.h"

#include <cmath>

#include "core/fire/slope.h"

namespace hakea::core {

double vesta_moisture_function(Percent moisture) {
  const double m = moisture.value();
  if (m <= 4.1) return 1;
  if (m > 24) return 0;
  return 0.9082 + m * (0.1206 + m * (-0.03106 + m * (0.001853 - m * 0.00003467)));
}

double vesta_availability(One drought_factor) { return 1.008 / (1 + 104.9 * std::exp(-0.9306 * drought_factor.value())); }

double wet_forest_share(double w, Millimetres kbdi) {
  const double share = 0.1 * ((0.0046 * w * w - 0.0079 * w - 0.0175) * kbdi.value() - 0.9167 * w * w + 1.5833 * w + 13.5);
  return share < 0 ? 0 : share > 1 ? 1 : share;
}

MetresPerHour vesta_mk2_spread(const SpreadInputs& in) {
  const Fuel& fuel = *in.fuel;
  const double u = in.open_wind.value() / fuel.wind_reduction, w = fuel.load.value();
  const double dry = (fuel.is_wet_forest ? wet_forest_share(fuel.wind_reduction, in.kbdi) : 1) * in.drought_factor.value();
  const double f = vesta_moisture_function(in.moisture) * vesta_availability(One(dry));
  const double understorey = -0.1 + 0.06 * fuel.elevated_score + 0.48 * fuel.elevated_height.value();  // m
  const double wind = u > 2 ? 0.05024 * std::pow(u - 1, 0.92628) * std::pow(w / 10, 0.79928) : 0 * u * w;
  const double first = (0.03 + wind) * f * in.climb;  // km/h
  const double second = 0.19591 * std::pow(u, 0.8257) * std::pow(w / 10, 0.4672) * std::pow(understorey, 0.495) * f * in.climb;
  const double third = 0.05235 * std::pow(in.open_wind.value(), 1.19128) * f;
  const double to_second = w < 1 ? 0 : 1 / (1 + std::exp(23.9315 - 1.7033 * u - 12.0822 * f - 0.95236 * w));
  const double to_third = second < 0.3 ? 0 : 1 / (1 + std::exp(32.3074 - 0.2951 * in.open_wind.value() - 26.8734 * f));
  const double rate = to_second < 0.5 ? first * (1 - to_second) + second * to_second
                                      : first * (1 - to_second) + second * to_second * (1 - to_third) + third * to_third;
  return MetresPerHour(1000 * rate);
}

bool in_vesta_mk2_domain(const SpreadInputs& in) {
  const double u = in.open_wind.value() / in.fuel->wind_reduction, m = in.moisture.value();
  const double reduction = in.fuel->wind_reduction;
  return u >= 3 && reduction >= 3 && reduction <= 5 && m >= 4 && m <= 24 && in_slope_domain(in.slope);
}

}  // namespace hakea::core
