#include "ingest/station/nearest.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "core/base/great_circle.h"

namespace hakea::ingest {

double distance_km(const StationSite& a, const StationSite& b) {
  return great_circle_km({a.latitude_deg, a.longitude_deg}, {b.latitude_deg, b.longitude_deg});
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
