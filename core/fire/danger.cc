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

One gfdi_mark3(const GrassDangerInputs& in) {
  return One(2 * std::exp(-23.6 + 5.01 * std::log(in.curing.value()) + 0.0281 * in.air.value() -
                          0.226 * std::sqrt(in.relative_humidity.value()) + 0.633 * std::sqrt(in.wind_speed.value())));
}

Percent mark5_grass_moisture(const GrassDangerInputs& in) {
  const double t = in.air.value(), h = in.relative_humidity.value();
  if (t < 0) return Percent::missing();
  return Percent((97.7 + 4.06 * h) / (t + 6) - 0.00854 * h + 3000 / in.curing.value() - 30);
}

One gfdi_mark5(const GrassDangerInputs& in) { return gfdi_mark5(mark5_grass_moisture(in), in.load, in.wind_speed); }

One gfdi_mark5(Percent moisture, TonnesPerHectare load, KilometresPerHour wind_speed) {
  const double m = moisture.value(), w = load.value(), v = wind_speed.value();
  if (m < 18.8) return One(3.35 * w * std::exp(-0.0897 * m + 0.0403 * v));
  if (m <= 30) return One(0.299 * w * std::exp(-1.686 + 0.0403 * v) * (30 - m));
  return One(0 * (m + w + v));  // missing stays missing
}

}  // namespace hakea::core
