#include "core/air/aloft.h"

#include <algorithm>
#include <cmath>

#include "core/base/numbers.h"
#include "core/weather/humidity.h"

namespace hakea::core {
namespace {

// Between which levels a pressure lies: `above` is the first at or above it, `share` the way there from the one below.
struct Place {
  std::size_t above;
  double share;
};
Place place_of(const AirColumn& column, double p) {
  const auto& pressures = column.pressure_hpa;  // falling
  const auto found = std::lower_bound(pressures.begin(), pressures.end(), p, [](double level, double x) { return level > x; });
  if (found == pressures.end() || (found == pressures.begin() && *found < p)) return {0, kNaN};
  const auto above = static_cast<std::size_t>(found - pressures.begin());
  if (above == 0 || *found == p) return {above, 1};
  return {above, std::log(pressures[above - 1] / p) / std::log(pressures[above - 1] / *found)};
}

double between(const std::vector<double>& values, Place at) {
  return at.share == 1 ? values[at.above] : values[at.above - 1] + at.share * (values[at.above] - values[at.above - 1]);
}

int component(double value, double class_two_from, double class_two_to) {
  return value < class_two_from ? 1 : value <= class_two_to ? 2 : 3;
}

}  // namespace

IsobaricAir at_pressure(const AirColumn& column, Hectopascals pressure) {
  const Place at = place_of(column, pressure.value());
  if (std::isnan(at.share)) return {};
  return {Celsius(between(column.temperature_k, at) - kFreezing),
          dew_point(Hectopascals(between(column.vapour_pressure_hpa, at)))};
}

HainesElevation haines_elevation(Metres ground) {
  return ground.value() < 305 ? HainesElevation::low : ground.value() <= 914 ? HainesElevation::middle : HainesElevation::high;
}

double haines_index(HainesElevation elevation, Celsius lower, Celsius upper, Celsius dew_point) {
  const Celsius moist = elevation == HainesElevation::low ? upper : lower;
  const double lapse = lower.value() - upper.value(), depression = moist.value() - dew_point.value();
  if (std::isnan(lapse) || std::isnan(depression)) return kNaN;
  switch (elevation) {
    case HainesElevation::low: return component(lapse, 4, 7) + component(depression, 6, 9);
    case HainesElevation::middle: return component(lapse, 6, 10) + component(depression, 6, 12);
    case HainesElevation::high: return component(lapse, 18, 21) + component(depression, 15, 20);
  }
  return kNaN;
}

double haines_index(const AirColumn& column, Metres ground) {
  if (ground.is_missing()) return kNaN;
  const HainesElevation elevation = haines_elevation(ground);
  const auto at = [&](double p) { return at_pressure(column, Hectopascals(p)); };
  if (elevation == HainesElevation::high) {
    const IsobaricAir lower = at(700);
    return haines_index(elevation, lower.temperature, at(500).temperature, lower.dew_point);
  }
  const IsobaricAir middle = at(850);
  return elevation == HainesElevation::low ? haines_index(elevation, at(950).temperature, middle.temperature, middle.dew_point)
                                           : haines_index(elevation, middle.temperature, at(700).temperature, middle.dew_point);
}

double c_haines(Celsius t850, Celsius t700, Celsius dew_point850) {
  const double lapse = t850.value() - t700.value(), depression = t850.value() - dew_point850.value();
  if (std::isnan(lapse) || std::isnan(depression)) return kNaN;
  const double dryness = std::min(depression, 30.0) / 3 - 1;
  return 0.5 * lapse - 2 + (dryness > 5 ? 5 + (dryness - 5) / 2 : dryness);
}

double c_haines(const AirColumn& column) {
  const IsobaricAir lower = at_pressure(column, Hectopascals(850));
  return c_haines(lower.temperature, at_pressure(column, Hectopascals(700)).temperature, lower.dew_point);
}

HotDryWindy hot_dry_windy(const AirColumn& column) {
  constexpr double kLayerHpa = 50;
  if (column.size() < 2) return {kNaN};
  const double top = column.pressure_hpa[0] - kLayerHpa;
  double wind2 = 0, deficit = 0;
  const auto take = [&](double u, double v, double kelvin, double vapour) {
    const double here = saturation_vapour_pressure(Celsius(kelvin - kFreezing)).value() - vapour;
    wind2 = std::isnan(u) || std::isnan(v) ? kNaN : std::max(wind2, u * u + v * v);
    deficit = std::isnan(here) ? kNaN : std::max(deficit, here);
    return !std::isnan(wind2) && !std::isnan(deficit);
  };
  std::size_t i = 0;
  for (; i < column.size() && column.pressure_hpa[i] >= top; ++i)
    if (!take(column.u_ms[i], column.v_ms[i], column.temperature_k[i], column.vapour_pressure_hpa[i])) return {kNaN};
  const bool is_coarse = i < 3;  // the ground and at most one level
  if (i == column.size()) return {kNaN};
  const Place at = place_of(column, top);
  if (!take(between(column.u_ms, at), between(column.v_ms, at), between(column.temperature_k, at),
            between(column.vapour_pressure_hpa, at)))
    return {kNaN};
  return {std::sqrt(wind2) * deficit, is_coarse};
}

}  // namespace hakea::core
