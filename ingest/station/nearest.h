// Which stations speak for a place.
#pragma once

#include <compare>
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

// So many speak for a place in turn, where those before them have no value [our own default].
inline constexpr std::size_t kStationsAsked = 4;

// Along a great circle of a sphere of 6371 km.
double distance_km(const StationSite& a, const StationSite& b);

// The nearer counts more; of equally near ones that on more equal ground.
struct Nearness {
  double km = 0, m = 0;  // of ground that is not known, kStationReachM
  auto operator<=>(const Nearness&) const = default;
};
// Nothing beyond the reach. An elevation that is not known, of the place or of the station, counts as within it.
std::optional<Nearness> nearness(const StationSite& place, const StationSite& station);

// The nearest kStationsAsked of those within reach, in order; of equals the first.
std::vector<std::size_t> nearest_stations(const StationSite& place, const std::vector<StationSite>& stations);

}  // namespace hakea::ingest
