#include "core/moisture/litter.h"

#include <algorithm>
#include <cmath>

namespace hakea::core {
namespace {

constexpr double kSaturation = 250;      // %
constexpr double kRainThreshold = 0.05;  // mm/h
constexpr double kRainScale = 8;         // mm/h
constexpr int kHoursToDry = 6;

}  // namespace

Percent litter_step(Percent moisture, EquilibriumMoisture equilibrium, double rain_mm_h, LitterLags lags, Hours step) {
  const double m = moisture.value(), drying = equilibrium.drying.value(), wetting = equilibrium.wetting.value();
  if (std::isnan(rain_mm_h) || std::isnan(drying)) return Percent::missing();
  double target = m, rate = 0;
  if (rain_mm_h > kRainThreshold) {
    target = kSaturation;
    rate = (1 - std::exp(-(rain_mm_h - kRainThreshold) / kRainScale)) / lags.wetting.value();
  } else if (m > drying) {
    target = drying;
    rate = 1 / lags.drying.value();
  } else if (m < wetting) {
    target = wetting;
    rate = 1 / lags.drying.value();
  }
  return Percent(target + (m - target) * std::exp(-rate * step.value()));
}

double throughfall(double rain_mm, Canopy canopy, CanopyState& state) {
  if (!(rain_mm > 0)) {
    if (++state.dry_h >= kHoursToDry) state.store_mm = canopy.capacity_mm;
    return rain_mm;
  }
  state.dry_h = 0;
  const double kept = std::min(rain_mm * (1 - canopy.share), state.store_mm);
  state.store_mm -= kept;
  return rain_mm * (1 - canopy.share) - kept;
}

Percent litter_regression(AirAndHumidity screen, LitterHour hour) {
  const double t = screen.air.value(), h = screen.relative_humidity.value();
  const double p1 = 2.76 + 0.124 * h - 0.0187 * t;
  const double p2 = 3.60 + 0.169 * h - 0.0450 * t;
  const double p3 = 3.08 + 0.198 * h - 0.0483 * t;
  double m = p3;
  if (hour.is_day) {
    const double afternoon = std::clamp(std::min(hour.clock_h - 11, 18 - hour.clock_h), 0.0, 1.0);
    const double weight = hour.is_sunny ? afternoon : 0;
    m = weight * p1 + (1 - weight) * p2;
  }
  return Percent(m < 2 ? 2 : m);
}

bool in_litter_regression_domain(AirAndHumidity screen, Hours since_rain) {
  const double t = screen.air.value(), h = screen.relative_humidity.value();
  return t >= 10 && t <= 40 && h >= 10 && h <= 80 && since_rain.value() >= 48;
}

Percent mcarthur_litter_moisture(AirAndHumidity screen) {
  const double t = screen.air.value(), h = screen.relative_humidity.value();
  if (!(t > 0)) return Percent::missing();  // H^3 / T
  const double m = 5.658 + 0.04651 * h + 3.151e-4 * h * h * h / t - 0.184 * std::pow(t, 0.77);
  return Percent(m < 2 ? 2 : m);
}

bool in_mcarthur_litter_domain(AirAndHumidity screen, Hours since_rain) {
  const double h = screen.relative_humidity.value();
  return screen.air.value() >= 10 && h >= 5 && h <= 70 && since_rain.value() >= 48;
}

}  // namespace hakea::core
