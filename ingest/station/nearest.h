// Which station speaks for a place.
#pragma once

#include <optional>
#include <vector>

namespace hakea::ingest {

struct StationSite {
  double latitude_deg = 0, longitude_deg = 0;
  double elevation_m = 0;  // NaN where it is not known
};

// A station further away, or on ground so much higher or lower, says nothing of a place. Common practice, no source; the
// numbers are those within which corrections are carried from stations (atmosphere.md 8.2).
inline constexpr double kStationReachKm = 50, kStationReachM = 300;

// Along a great circle of a sphere of 6371 km.
double distance_km(const StationSite& a, const StationSite& b);

// The nearest one within reach both ways, by its place; of equally near ones that on more equal ground, then the first. An
// elevation that is not known, of the place or of a station, counts as within reach.
std::optional<std::size_t> nearest_station(const StationSite& place, const std::vector<StationSite>& stations);

}  // namespace hakea::ingest
