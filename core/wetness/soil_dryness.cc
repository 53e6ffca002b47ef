#include "core/wetness/soil_dryness.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace hakea::core {
namespace {

constexpr double kPoint = 0.254;  // mm

// Points a day by deficit (above so many points) and temperature (above 30, 35 ... 105 degF; nothing below).
struct Drying {
  double above;
  std::array<int, 16> points;
};
constexpr std::array<Drying, 5> kHobart{{
    {0, {1, 2, 4, 5, 7, 8, 9, 11, 13, 15, 17, 19, 21, 23, 25, 27}},
    {100, {1, 2, 3, 3, 4, 5, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24}},
    {200, {0, 0, 1, 1, 2, 3, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22}},
    {550, {0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6, 7, 7}},
    {650, {0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3}},
}};

int drying_points(double fahrenheit, double deficit_points) {
  if (!(fahrenheit > 30)) return 0;
  const auto column = static_cast<std::size_t>(std::min(std::ceil((fahrenheit - 30) / 5) - 1, 15.0));
  const Drying* row = &kHobart[0];
  for (const Drying& next : kHobart)
    if (deficit_points > next.above) row = &next;
  return row->points[column];
}

}  // namespace

SoilDryness soil_dryness_step(SoilDryness before, Millimetres rain, Celsius highest_temperature) {
  if (rain.is_missing() || highest_temperature.is_missing()) return {std::nan(""), before.canopy_mm};
  const double fallen = rain.value() / kPoint;
  double canopy = before.canopy_mm / kPoint, kept = 0;
  if (fallen > 0) {
    kept = std::min(0.3 * fallen, 8 - canopy);
    canopy = std::max(canopy + kept - 2, 0.0);
  } else {
    canopy = 0;
  }
  const double deficit = std::max(before.deficit_mm / kPoint, 1.0);
  const double dried = drying_points(32 + 1.8 * highest_temperature.value(), deficit);
  const double after = before.deficit_mm / kPoint - (fallen - kept - fallen / 40) + dried;
  return {kPoint * std::max(after, 0.0), kPoint * canopy};
}

bool is_in_tasmania(double latitude_deg, double longitude_deg) {
  return latitude_deg >= -44 && latitude_deg <= -39.3 && longitude_deg >= 143.5 && longitude_deg <= 149;
}

}  // namespace hakea::core
