#include "core/air/smoke.h"

#include <algorithm>
#include <cmath>

#include "core/base/numbers.h"
#include "core/weather/wind.h"

namespace hakea::core {
namespace {

constexpr double kFarthest = 100e3, kPooling = 4828;   // m
constexpr double kNearestEdge = 100, kDrawnTo = 50e3;  // m
constexpr double kColumns = 4;  // of flame that rise side by side, each with its share of the heat (common practice, no source)
constexpr double kLargestColumn = 300e6;  // W
constexpr double kLowestLid = 50;         // m; a unit above the mixed layer has smoke all the same

}  // namespace

Receptor seen_from(const Site& unit, double latitude_deg, double longitude_deg) {
  constexpr double kEarthRadius = 6371008.77;  // m
  const double a = unit.latitude_deg * kDegree, b = latitude_deg * kDegree, east = (longitude_deg - unit.longitude_deg) * kDegree;
  const double to_north = std::cos(a) * std::sin(b) - std::sin(a) * std::cos(b) * std::cos(east),
               to_east = std::cos(b) * std::sin(east),
               along = std::sin(a) * std::sin(b) + std::cos(a) * std::cos(b) * std::cos(east);
  const double bearing = std::atan2(to_east, to_north) / kDegree;
  return {Metres(kEarthRadius * std::atan2(std::hypot(to_north, to_east), along)),
          Degrees(bearing < 0 ? bearing + 360 : bearing)};
}

Degrees smoke_bearing(Degrees transport_from) {
  const double d = std::fmod(transport_from.value() + 180, 360);
  return Degrees(d == 0 ? 360 : d);
}

Degrees drift_half_width(int stability_class) {
  constexpr double kDeviation[] = {25, 20, 15, 10, 5, 2.5};
  if (stability_class < 1 || stability_class > 6) return Degrees::missing();
  return Degrees(std::max(22.5, 2 * kDeviation[stability_class - 1]));
}

bool has_direction(const SmokeAir& air) { return air.is_night || air.transport_wind >= kVariableWind; }

bool pools(const SmokeAir& air) { return air.is_night && air.wind < kVariableWind; }

bool is_under_smoke(const Receptor& receptor, const SmokeAir& air) {
  if (!(receptor.distance.value() <= kFarthest)) return false;
  if (pools(air) && receptor.distance.value() <= kPooling) return true;
  const Degrees half = drift_half_width(air.stability_class);
  const auto drifts_there = [&](Degrees from) { return turn(smoke_bearing(from), receptor.bearing) <= half; };
  return drifts_there(air.transport_from) || (air.is_night && drifts_there(air.wind_from));
}

BurnSmoke::BurnSmoke(const Burn& burn, Metres distance)
    : flaming_g_s_(flaming_emission_g_s(burn)),
      smouldering_g_s_(smouldering_emission_g_s(burn)),
      column_watts_(convective_watts(burn) / kColumns),
      is_in_reach_(distance.value() - std::sqrt(burn.area_ha * 1e4) / 2 >= kNearestEdge && distance.value() <= kDrawnTo),
      plume_(Metres(std::sqrt(burn.area_ha * 1e4)), Metres(std::sqrt(burn.area_ha * 1e4)), distance) {}

Concentration BurnSmoke::in(const SmokeAir& air) {
  const MetresPerSecond wind = to<MetresPerSecond>(air.wind), transport = to<MetresPerSecond>(air.transport_wind);
  const Metres lid = air.mixing_height.value() < kLowestLid ? Metres(kLowestLid) : air.mixing_height;
  const double smouldering = air.is_night ? smouldering_g_s_ * smouldering_share(air.since_sunset) : smouldering_g_s_;
  Concentration at{1e6 * plume_.from_ground(smouldering, {air.stability_class, wind, lid}), is_in_reach_ && wind.value() >= 1};
  if (air.is_night) return at;
  const Kelvin temperature = to<Kelvin>(air.temperature);
  const PlumeRise rise = plume_rise(buoyancy_of_heat(column_watts_, temperature), transport, air.stability_class, temperature);
  const Metres height = std::min(rise.final_rise(), lid);  // smoke that reaches the lid stays under it
  at.ug_m3 += 1e6 * plume_.from_aloft(flaming_g_s_, height, rise, {air.stability_class, transport, lid});
  at.in_domain = at.in_domain && transport.value() >= 1 && column_watts_ <= kLargestColumn;
  return at;
}

Concentration combined_concentration(std::span<const Contribution> burns) {
  Concentration sum;
  for (const Contribution& c : burns) {
    if (!is_under_smoke(c.receptor, c.air)) continue;
    const Concentration one = BurnSmoke(c.burn, c.receptor.distance).in(c.air);
    sum.ug_m3 += one.ug_m3;
    sum.in_domain = sum.in_domain && one.in_domain;
  }
  return sum;
}

}  // namespace hakea::core
