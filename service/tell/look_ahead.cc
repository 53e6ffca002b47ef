#include "service/tell/look_ahead.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace hakea::service {
namespace {

constexpr int kNextHours = 72, kWeekHours = 7 * 24;

// Common practice, no source: from here on a burn that is alight needs attention before the weather comes.
constexpr double kDangerousFfdi = 24, kDangerousGust_kmh = 50, kDangerousHumidity = 20;

double at(const core::UnitHours& hours, std::string_view key, std::size_t i) { return static_cast<double>(hours[key][i]); }

// What makes an hour dangerous, empty for nothing; a missing value is no danger seen, and is counted elsewhere.
std::string danger_of(const core::UnitHours& hours, std::size_t i) {
  const auto whole = [](double value) { return static_cast<int>(std::round(value)); };
  if (const double ffdi = at(hours, "ffdi", i); ffdi >= kDangerousFfdi) return fmt::format("calculated FFDI {}", whole(ffdi));
  if (const double gust = at(hours, "wind_gust", i); gust >= kDangerousGust_kmh) return fmt::format("gust {} km/h", whole(gust));
  if (const double humidity = at(hours, "relative_humidity", i); humidity <= kDangerousHumidity)
    return fmt::format("relative humidity {} %", whole(humidity));
  const double shift = at(hours, "wind_shift", i), wind = at(hours, "wind_speed", i);
  if (core::is_wind_change(shift, wind)) return fmt::format("wind direction turns by {}° at {} km/h", whole(shift), whole(wind));
  return {};
}

void keep_worse(std::optional<WorstHour>& worst, float value, UtcHour at, bool low_is_worse) {
  if (std::isnan(value)) return;
  if (!worst || (low_is_worse ? value < worst->value : value > worst->value)) worst = WorstHour{value, at};
}

}  // namespace

LookAhead look_ahead(const std::vector<std::vector<core::UnitHours>>& points, UtcTime now) {
  LookAhead found;
  const UtcHour first = UtcHour::of(now);
  int fewest_known = points.empty() ? 0 : kNextHours;
  for (const auto& members : points)
    for (const core::UnitHours& hours : members) {
      int known = 0;
      for (int lead = 0; lead < kWeekHours; ++lead) {
        const UtcHour hour = first + lead;
        if (hour < hours.first || hour >= hours.end()) continue;
        const auto i = static_cast<std::size_t>(hour - hours.first);
        if (std::string danger = danger_of(hours, i); !danger.empty() && (!found.danger_at || hour < *found.danger_at)) {
          found.danger_at = hour;
          found.danger = std::move(danger);
        }
        const float ffdi = hours["ffdi"][i];
        keep_worse(found.week_ffdi, ffdi, hour, false);
        if (lead >= kNextHours) continue;
        const float gust = hours["wind_gust"][i], humidity = hours["relative_humidity"][i];
        keep_worse(found.ffdi, ffdi, hour, false);
        keep_worse(found.gust, gust, hour, false);
        keep_worse(found.humidity, humidity, hour, true);
        if (!std::isnan(ffdi) && !std::isnan(gust) && !std::isnan(humidity)) ++known;
      }
      fewest_known = std::min(fewest_known, known);
    }
  found.missing_hours = kNextHours - fewest_known;
  return found;
}

}  // namespace hakea::service
