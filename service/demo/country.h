// The ground of the demo's district: how high it lies, how far it is from the sea, and which of the three weather zones of
// the story it belongs to. Drawn from the coast and the escarpment of the district's map; fictional like the rest.
#pragma once

#include <array>
#include <vector>

namespace hakea::service {

struct Place {
  double latitude_deg = 0, longitude_deg = 0;
};

// The zones of the story: coast, valley, tops.
inline constexpr std::size_t kZones = 3;
using ZoneShares = std::array<double, kZones>;  // their sum is 1

class DemoCountry {
 public:
  DemoCountry();  // from the built-in district

  double elevation_m(Place place) const;
  // The mean elevation around a place, as a model with coarse cells has it: hills lower, valleys higher.
  double smoothed_elevation_m(Place place, double radius_km) const;
  ZoneShares zones(Place place) const;

 private:
  using Line = std::vector<Place>;
  // Positive on the left of the line as it is drawn: inland of the coast, above the escarpment.
  static double distance_km(const Line& line, Place place);

  Line coast_, escarpment_;
};

}  // namespace hakea::service
