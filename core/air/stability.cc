#include "core/air/stability.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace hakea::core {
namespace {

constexpr double kKnot = 0.514444;                  // m/s
constexpr double kLowCeiling = 7000 * 0.3048;       // m
constexpr double kMiddleCeiling = 16000 * 0.3048;   // m
constexpr double kHalfCloud = 5, kOvercast = 9.95;  // tenths; cloud comes as a fraction, so ten tenths is what rounds to it
constexpr double kClearNight = 4;                   // tenths

}  // namespace

int insolation_class(Degrees solar_elevation) {
  const double a = solar_elevation.value();
  return a > 60 ? 4 : a > 35 ? 3 : a > 15 ? 2 : 1;
}

int net_radiation_index(Degrees solar_elevation, bool is_night, TurnerSky sky) {
  const double ceiling = !sky.ceiling.is_missing() ? sky.ceiling.value() : is_night ? kMiddleCeiling : 0;
  const bool is_overcast = sky.cloud_tenths >= kOvercast;
  if (is_overcast && ceiling < kLowCeiling) return 0;
  if (is_night) return sky.cloud_tenths <= kClearNight ? -2 : -1;
  const int insolation = insolation_class(solar_elevation);
  if (sky.cloud_tenths <= kHalfCloud) return insolation;
  const int veiled = insolation - (ceiling < kLowCeiling ? 2 : ceiling < kMiddleCeiling ? 1 : 0) - (is_overcast ? 1 : 0);
  return std::max(veiled, 1);
}

int turner_class(MetresPerSecond wind, int net_radiation_index) {
  struct Row {
    int knots;                             // up to
    std::array<std::uint8_t, 7> by_index;  // 4 3 2 1 0 -1 -2
  };
  constexpr std::array<Row, 9> kTable{{{1, {1, 1, 2, 3, 4, 6, 7}},
                                       {3, {1, 2, 2, 3, 4, 6, 7}},
                                       {5, {1, 2, 3, 4, 4, 5, 6}},
                                       {6, {2, 2, 3, 4, 4, 5, 6}},
                                       {7, {2, 2, 3, 4, 4, 4, 5}},
                                       {9, {2, 3, 3, 4, 4, 4, 5}},
                                       {10, {3, 3, 4, 4, 4, 4, 5}},
                                       {11, {3, 3, 4, 4, 4, 4, 4}},
                                       {1000, {3, 4, 4, 4, 4, 4, 4}}}};
  if (wind.is_missing()) return 0;
  const double knots = std::round(wind.value() / kKnot);
  const auto row = std::find_if(kTable.begin(), kTable.end() - 1, [&](const Row& r) { return knots <= r.knots; });
  return row->by_index[static_cast<std::size_t>(4 - std::clamp(net_radiation_index, -2, 4))];
}

int radiation_class(MetresPerSecond wind, WattsPerSquareMetre radiation) {
  constexpr int kTable[5][4] = {{1, 1, 2, 4}, {1, 2, 3, 4}, {2, 2, 3, 4}, {3, 3, 4, 4}, {3, 4, 4, 4}};
  const double u = wind.value(), r = radiation.value();
  if (std::isnan(u) || std::isnan(r)) return 0;
  return kTable[u < 2 ? 0 : u < 3 ? 1 : u < 5 ? 2 : u < 6 ? 3 : 4][r >= 925 ? 0 : r >= 675 ? 1 : r >= 175 ? 2 : 3];
}

int gradient_class(MetresPerSecond wind, bool warms_upwards) {
  const double u = wind.value();
  if (std::isnan(u)) return 0;
  return u < 2 ? (warms_upwards ? 6 : 5) : u < 2.5 ? (warms_upwards ? 5 : 4) : 4;
}

std::string_view word(StabilityMethod method) {
  switch (method) {
    case StabilityMethod::none: return "none";
    case StabilityMethod::radiation: return "radiation";
    case StabilityMethod::gradient: return "gradient";
    case StabilityMethod::turner: return "turner";
  }
  return "none";
}

Stability stability(const StabilityInputs& in) {
  if (in.wind.is_missing() || in.solar_elevation.is_missing()) return {};
  const bool is_day = in.solar_elevation.value() > 0;
  if (is_day && !in.radiation.is_missing()) return {radiation_class(in.wind, in.radiation), StabilityMethod::radiation};
  if (!is_day && !std::isnan(in.gradient_k_km))
    return {gradient_class(in.wind, in.gradient_k_km >= 0), StabilityMethod::gradient};
  if (in.cloud.is_missing()) return {};
  const int index = net_radiation_index(in.solar_elevation, in.is_near_dark, {in.cloud.value() / 10, Metres::missing()});
  return {std::min(turner_class(in.wind, index), 6), StabilityMethod::turner};
}

}  // namespace hakea::core
