#include "ingest/station/nearest.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/base/great_circle.h"

namespace hakea::ingest {

double distance_km(const StationSite& a, const StationSite& b) {
  return great_circle_km({a.latitude_deg, a.longitude_deg}, {b.latitude_deg, b.longitude_deg});
}

std::optional<Nearness> nearness(const StationSite& place, const StationSite& station) {
  const double km = distance_km(place, station), m = std::abs(place.elevation_m - station.elevation_m);
  if (!(km <= kStationReachKm) || m > kStationReachM) return std::nullopt;  // a difference that is not known is not greater
  return Nearness{km, std::isnan(m) ? kStationReachM : m};
}

std::vector<std::size_t> nearest_stations(const StationSite& place, const std::vector<StationSite>& stations) {
  std::vector<std::pair<Nearness, std::size_t>> near;
  for (std::size_t i = 0; i < stations.size(); ++i)
    if (const auto how_near = nearness(place, stations[i])) near.emplace_back(*how_near, i);
  std::sort(near.begin(), near.end());
  if (near.size() > kStationsAsked) near.resize(kStationsAsked);
  std::vector<std::size_t> order;
  for (const auto& [how_near, i] : near) order.push_back(i);
  return order;
}

}  // namespace hakea::ingest
