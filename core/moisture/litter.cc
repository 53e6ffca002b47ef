#include "core/moisture/litter.h"

#include <algorithm>
#include <cmath>

namespace hakea::core {
namespace {

constexpr double kSaturation = 250;      // %
constexpr double kRainThreshold = 0.05;  // mm/h
constexpr double kRainScale = 8;         // mm/h
constexpr double kWettingLag = 14;       // h
constexpr int kHoursToDry = 6;

}  // namespace

Percent litter_step(Percent moisture, EquilibriumMoisture equilibrium, double rain_mm_h, Hours time_lag, Hours step) {
  const double m = moisture.value(), drying = equilibrium.drying.value(), wetting = equilibrium.wetting.value();
  if (std::isnan(rain_mm_h) || std::isnan(drying)) return Percent::missing();
  double target = m, rate = 0;
  if (rain_mm_h > kRainThreshold) {
    target = kSaturation;
    rate = (1 - std::exp(-(rain_mm_h - kRainThreshold) / kRainScale)) / kWettingLag;
  } else if (m > drying) {
    target = drying;
    rate = 1 / time_lag.value();
  } else if (m < wetting) {
    target = wetting;
    rate = 1 / time_lag.value();
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
  if (hour.clock_h >= hour.sunrise_h && hour.clock_h < hour.sunset_h) {
    const double afternoon = std::clamp(std::min(hour.clock_h - 11, 18 - hour.clock_h), 0.0, 1.0);
    const double weight = hour.is_sunny ? afternoon : 0;
    m = weight * p1 + (1 - weight) * p2;
  }
  return Percent(m < 2 ? 2 : m);
}

}  // namespace hakea::core
