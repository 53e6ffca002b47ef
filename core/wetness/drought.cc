#include "core/wetness/drought.h"

#include <algorithm>
#include <cmath>

namespace hakea::core {
namespace {

constexpr double kEventDay = 2.0;  // mm; strictly more makes a day part of an event

// Finkele et al. (2006) eq. 14. Above 154 mm it exceeds 1 and limits nothing.
double availability_limit(double deficit) {
  if (deficit < 20) return 1 / (1 + 0.1135 * deficit);
  const double below = 270.525 - 1.267 * deficit;
  return below > 75 ? 75 / below : 1;
}

double deficit_share(double deficit) { return 10.5 * (1 - std::exp(-(deficit + 30) / 40)); }

}  // namespace

double kbdi_drying(double kbdi_mm, double highest_temperature_c, Millimetres annual_rain) {
  return 1e-3 * (kDroughtCap - kbdi_mm) * (0.968 * std::exp(0.0875 * highest_temperature_c + 1.5552) - 8.30) /
         (1 + 10.88 * std::exp(-0.00173 * annual_rain.value()));
}

KbdiDay kbdi_step(KbdiDay before, DailyWeather weather, Millimetres annual_rain, KbdiOptions options) {
  if (std::isnan(weather.rain_mm) || std::isnan(before.kbdi_mm)) return {std::nan(""), before.store_mm};
  double store = kInterception, kept = 0;
  if (weather.rain_mm > options.dry_day_mm) {
    kept = std::min(weather.rain_mm, before.store_mm);
    store = before.store_mm - kept;
  } else {
    kept = weather.rain_mm;
  }
  const double reaching = weather.rain_mm - kept;
  const double from = options.order == DryingOrder::rain_first ? std::max(before.kbdi_mm - reaching, 0.0) : before.kbdi_mm;
  double drying = kbdi_drying(from, weather.highest_temperature_c, annual_rain);
  if (options.drying_never_negative && drying < 0) drying = 0;
  const double after = options.order == DryingOrder::rain_first ? from + drying : before.kbdi_mm - reaching + drying;
  return {std::isnan(after) ? after : std::clamp(after, 0.0, kDroughtCap), store};
}

One drought_factor(std::span<const double> daily_rain_mm, Millimetres deficit) {
  const double smd = deficit.value();
  if (std::isnan(smd)) return One::missing();
  double x = 1;
  const std::size_t n = daily_rain_mm.size();
  for (std::size_t i = 0; i < n;) {
    if (std::isnan(daily_rain_mm[i])) return One::missing();
    if (!(daily_rain_mm[i] > kEventDay)) {
      ++i;
      continue;
    }
    double fallen = 0, largest = 0;
    std::size_t day_of_largest = i;
    for (; i < n && daily_rain_mm[i] > kEventDay; ++i) {
      fallen += daily_rain_mm[i];
      if (daily_rain_mm[i] >= largest) {
        largest = daily_rain_mm[i];
        day_of_largest = i;
      }
    }
    const double age = std::pow(static_cast<double>(n - day_of_largest), 1.3);
    x = std::min(x, age / (age + fallen - 2));
  }
  x = std::min(x, availability_limit(smd));
  return One(std::min(deficit_share(smd) * (41 * x * x + x) / (40 * x * x + x + 1), 10.0));
}

double equivalent_rain_mm(One factor, Millimetres deficit) {
  if (factor >= drought_factor({}, deficit)) return 0;
  const double g = factor.value() / deficit_share(deficit.value());
  if (!(g > 0)) return std::isnan(g) ? g : 1e4;  // nothing is available: more rain than any day brings
  // g (40 x^2 + x + 1) = 41 x^2 + x
  const double a = 41 - 40 * g, b = 1 - g;
  const double x = (-b + std::sqrt(b * b + 4 * a * g)) / (2 * a);
  return 1 / x + 1;
}

}  // namespace hakea::core
