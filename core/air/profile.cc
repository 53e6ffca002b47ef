#include "core/air/profile.h"

#include <algorithm>
#include <cmath>

#include "core/air/thermo.h"
#include "core/base/numbers.h"
#include "core/base/result.h"
#include "core/weather/humidity.h"
#include "core/weather/wind.h"

namespace hakea::core {
namespace {

constexpr double kTopHpa = 300;
constexpr double kGapHpa = 150, kGapBelowHpa = 700, kJumpKelvin = 15;

double virtual_temperature_k(double p, double celsius, double e) {
  return virtual_temperature(Hectopascals(p), Kelvin(celsius + kFreezing), Hectopascals(e)).value();
}

// Pressure where the height above ground is zero, linear in ln p between the levels around it, or down from the lowest
// level by the hypsometric equation. Levels ordered by height. NaN where there are none.
double ground_pressure(std::span<const Level> by_height, double surface_celsius) {
  const auto above = std::find_if(by_height.begin(), by_height.end(), [](const Level& l) { return l.height_m > 0; });
  if (above == by_height.end()) return std::numeric_limits<double>::quiet_NaN();
  if (above == by_height.begin()) {
    const double mean = (above->temperature_c + surface_celsius) / 2 + kFreezing;
    return above->pressure_hpa * std::exp(kGravity * above->height_m / (kDryAirConstant * mean));
  }
  const Level& below = *(above - 1);
  const double share = -below.height_m / (above->height_m - below.height_m);
  return std::exp(std::lerp(std::log(below.pressure_hpa), std::log(above->pressure_hpa), share));
}

}  // namespace

std::string_view word(ColumnFault fault) {
  switch (fault) {
    case ColumnFault::none: return "none";
    case ColumnFault::no_levels: return "no_levels";
    case ColumnFault::no_surface: return "no_surface";
    case ColumnFault::not_monotonic: return "not_monotonic";
    case ColumnFault::gap: return "gap";
    case ColumnFault::jump: return "jump";
  }
  return "none";
}

std::size_t AirColumn::levels_below(Metres height) const {
  const auto first_above = std::upper_bound(height_m.begin(), height_m.end(), height.value());
  const auto count = static_cast<std::size_t>(first_above - height_m.begin());
  return count > 0 ? count - 1 : 0;
}

ColumnFault prepare(std::span<const Level> levels, const SurfaceAir& surface, AirColumn& column) {
  if (surface.temperature.is_missing()) return ColumnFault::no_surface;
  auto& kept = column.kept_;
  kept.clear();
  for (const Level& level : levels)
    if (level.pressure_hpa >= kTopHpa && std::isfinite(level.temperature_c)) kept.push_back(level);

  double ground = surface.pressure.value();
  const auto has_height = [](const Level& l) { return std::isfinite(l.height_m); };
  if (std::isnan(ground)) {
    if (!std::all_of(kept.begin(), kept.end(), has_height)) return ColumnFault::no_surface;
    std::sort(kept.begin(), kept.end(), [](const Level& a, const Level& b) { return a.height_m < b.height_m; });
    ground = ground_pressure(kept, surface.temperature.value());
    if (std::isnan(ground)) return ColumnFault::no_levels;
  }
  // Below the model's ground a level is an extrapolation, not air.
  std::erase_if(kept, [&](const Level& l) { return l.pressure_hpa >= ground - 1 || l.height_m <= 2; });
  if (kept.empty()) return ColumnFault::no_levels;

  const bool heights_given = std::all_of(kept.begin(), kept.end(), has_height);
  const auto higher = [&](const Level& a, const Level& b) {
    return heights_given ? a.height_m < b.height_m : a.pressure_hpa > b.pressure_hpa;
  };
  if (!std::is_sorted(kept.begin(), kept.end(), higher)) std::sort(kept.begin(), kept.end(), higher);

  column.is_dry = surface.dew_point.is_missing() ||
                  std::any_of(kept.begin(), kept.end(), [](const Level& l) { return std::isnan(l.vapour_pressure_hpa); });
  const std::size_t n = kept.size() + 1;
  for (auto* values : {&column.pressure_hpa, &column.height_m, &column.temperature_k, &column.theta_v_k, &column.u_ms,
                       &column.v_ms, &column.vapour_pressure_hpa})
    values->resize(n);
  if (column.exner_of_.size() < n) {
    column.exner_of_.resize(n, 0);
    column.exner_.resize(n, 0);
  }

  const double surface_vapour = saturation_vapour_pressure(surface.dew_point).value();
  const WindVector wind = components({surface.wind_speed, surface.wind_from_direction});
  double virtual_below = 0, theta_below = 0, hypsometric = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const Level level = i == 0 ? Level{ground,
                                       2,
                                       surface.temperature.value(),
                                       surface_vapour,
                                       to<MetresPerSecond>(wind.eastward).value(),
                                       to<MetresPerSecond>(wind.northward).value()}
                               : kept[i - 1];
    const double p = level.pressure_hpa;
    const std::size_t slot = n - 1 - i;  // from the top, where every column of a run has the same levels
    if (column.exner_of_[slot] != p) {
      column.exner_of_[slot] = p;
      column.exner_[slot] = exner(Hectopascals(p));
    }
    const double virtual_k = virtual_temperature_k(p, level.temperature_c, column.is_dry ? 0 : level.vapour_pressure_hpa);
    if (!(virtual_k > 0)) return ColumnFault::jump;
    const double theta = (level.temperature_c + kFreezing) / column.exner_[slot];
    if (i > 0) {
      const double p_below = column.pressure_hpa[i - 1];
      if (!(p < p_below)) return ColumnFault::not_monotonic;
      if (p_below > kGapBelowHpa && p_below - p > kGapHpa) return ColumnFault::gap;
      if (p_below - p <= kGapHpa && std::abs(theta - theta_below) > kJumpKelvin) return ColumnFault::jump;
      if (!heights_given) hypsometric += kDryAirConstant / kGravity * (virtual_k + virtual_below) / 2 * std::log(p_below / p);
    }
    column.pressure_hpa[i] = p;
    column.height_m[i] = i == 0 || heights_given ? level.height_m : hypsometric;
    if (i > 0 && !(column.height_m[i] > column.height_m[i - 1])) return ColumnFault::not_monotonic;
    column.temperature_k[i] = level.temperature_c + kFreezing;
    column.theta_v_k[i] = virtual_k / column.exner_[slot];
    column.u_ms[i] = level.u_ms;
    column.v_ms[i] = level.v_ms;
    column.vapour_pressure_hpa[i] = level.vapour_pressure_hpa;
    virtual_below = virtual_k;
    theta_below = theta;
  }
  return ColumnFault::none;
}

// Millions of levels pass here, so no library call: winds neither overflow when squared, as std::hypot guards against, nor
// does a time strictly between two others need the exact ends and signs of std::lerp.
void interpolate(std::span<const Level> a, std::span<const Level> b, double share, std::span<Level> between) {
  HAKEA_EXPECT(a.size() == b.size() && a.size() == between.size());
  const auto mix = [share](double from, double to) { return from + share * (to - from); };
  const auto length_of = [](double u, double v) { return std::sqrt(u * u + v * v); };
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double u = mix(a[i].u_ms, b[i].u_ms), v = mix(a[i].v_ms, b[i].v_ms), length = length_of(u, v);
    const double speed = mix(length_of(a[i].u_ms, a[i].v_ms), length_of(b[i].u_ms, b[i].v_ms));
    const double stretch = length > 1e-6 ? speed / length : 1;  // exactly opposed winds have no direction in between
    between[i] = {mix(a[i].pressure_hpa, b[i].pressure_hpa),
                  mix(a[i].height_m, b[i].height_m),
                  mix(a[i].temperature_c, b[i].temperature_c),
                  mix(a[i].vapour_pressure_hpa, b[i].vapour_pressure_hpa),
                  u * stretch,
                  v * stretch};
  }
}

}  // namespace hakea::core
