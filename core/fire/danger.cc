#include "core/fire/danger.h"

#include <cmath>

namespace hakea::core {

One ffdi(const DangerInputs& in) {
  const double d = in.drought_factor.value();
  const double weather = -0.0345 * in.relative_humidity.value() + 0.0338 * in.air.value() + 0.0234 * in.wind_speed.value();
  if (d == 0 && !std::isnan(weather)) return One(0);
  return One(2.0 * std::exp(-0.450 + 0.987 * std::log(d) + weather));
}

bool in_ffdi_domain(const DangerInputs& in) {
  const auto within = [](double v, double lowest, double highest) { return v >= lowest && v <= highest; };
  return within(in.drought_factor.value(), 0, 10) && within(in.air.value(), 0, 45) &&
         within(in.relative_humidity.value(), 5, 100) && within(in.wind_speed.value(), 0, 80);
}

One gfdi(const GrassDangerInputs& in) {
  const double log_index = -0.6615 + 1.027 * std::log10(in.load.value()) - 0.004096 * std::pow(100 - in.curing.value(), 1.536) +
                           0.01201 * in.air.value() + 0.2789 * std::sqrt(in.wind_speed.value()) -
                           0.09577 * std::sqrt(in.relative_humidity.value());
  return One(std::pow(10, log_index));
}

bool in_gfdi_domain(const GrassDangerInputs& in) {
  const auto within = [](double v, double lowest, double highest) { return v >= lowest && v <= highest; };
  return within(in.curing.value(), 50, 100) && within(in.relative_humidity.value(), 5, 100) &&
         within(in.wind_speed.value(), 0, 80);
}

}  // namespace hakea::core
