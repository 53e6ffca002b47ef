#include "ingest/station/nearest.h"

#include <algorithm>
#include <cmath>
#include <limits>
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

std::optional<std::size_t> nearest_station(const StationSite& place, const std::vector<StationSite>& stations) {
  std::optional<std::size_t> best;
  std::pair<double, double> least{std::numeric_limits<double>::infinity(), 0};
  for (std::size_t i = 0; i < stations.size(); ++i) {
    const double km = distance_km(place, stations[i]), m = std::abs(place.elevation_m - stations[i].elevation_m);
    if (!(km <= kStationReachKm) || m > kStationReachM) continue;  // a difference that is not known is not greater
    if (const std::pair far{km, std::isnan(m) ? kStationReachM : m}; far < least) {
      least = far;
      best = i;
    }
  }
  return best;
}

}  // namespace hakea::ingest
