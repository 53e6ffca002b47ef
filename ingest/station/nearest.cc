#include "ingest/station/nearest.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace hakea::ingest {

double distance_km(const StationSite& a, const StationSite& b) {
  constexpr double kDegree = std::numbers::pi / 180, kEarthKm = 6371;
  const double dlat = (b.latitude_deg - a.latitude_deg) * kDegree,
               dlon = std::remainder(b.longitude_deg - a.longitude_deg, 360.0) * kDegree;
  const double s = std::sin(dlat / 2), t = std::sin(dlon / 2);
  const double h = s * s + std::cos(a.latitude_deg * kDegree) * std::cos(b.latitude_deg * kDegree) * t * t;  // haversine
  return 2 * kEarthKm * std::asin(std::min(1.0, std::sqrt(h)));
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
