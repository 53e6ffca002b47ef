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

}  // namespace

std::string danger_in(const core::UnitHours& hours, std::size_t i) {
  const auto whole = [](double value) { return static_cast<int>(std::round(value)); };
  if (const double ffdi = at(hours, "ffdi", i); ffdi >= kDangerousFfdi) return fmt::format("calculated FFDI {}", whole(ffdi));
  if (const double gust = at(hours, "wind_gust", i); gust >= kDangerousGust_kmh) return fmt::format("gust {} km/h", whole(gust));
  if (const double humidity = at(hours, "relative_humidity", i); humidity <= kDangerousHumidity)
    return fmt::format("relative humidity {} %", whole(humidity));
  const double shift = at(hours, "wind_shift", i), wind = at(hours, "wind_speed", i);
  if (core::is_wind_change(shift, wind)) return fmt::format("wind direction turns by {}° at {} km/h", whole(shift), whole(wind));
  return {};
}

LookAhead look_ahead(const std::vector<std::vector<core::UnitHours>>& points, UtcTime now) {
  const UtcHour first = UtcHour::of(now);
  const core::BurnDay next = core::worst_between(points, first, first + kNextHours);
  LookAhead found;
  found.ffdi = next.ffdi;
  found.gust = next.gust;
  found.humidity = next.humidity;
  found.missing_hours = points.empty() ? kNextHours : next.missing_hours;
  found.week_ffdi = core::worst_between(points, first, first + kWeekHours).ffdi;
  for (const auto& members : points)
    for (const core::UnitHours& hours : members)
      for (UtcHour hour = std::max(first, hours.first); hour < std::min(first + kWeekHours, hours.end()); hour = hour + 1) {
        if (found.danger_at && hour >= *found.danger_at) break;
        if (std::string danger = danger_in(hours, static_cast<std::size_t>(hour - hours.first)); !danger.empty()) {
          found.danger_at = hour;
          found.danger = std::move(danger);
        }
      }
  return found;
}

}  // namespace hakea::service
