// Distance on the globe.
#pragma once

#include <algorithm>
#include <cmath>

#include "core/base/numbers.h"

namespace hakea {

struct GlobePlace {
  double latitude_deg = 0, longitude_deg = 0;  // north and east positive
};

// Along the great circle, on a sphere of 6371 km (haversine formula).
inline double great_circle_km(GlobePlace a, GlobePlace b) {
  constexpr double kEarthKm = 6371;
  const double dlat = (b.latitude_deg - a.latitude_deg) * kDegree,
               dlon = std::remainder(b.longitude_deg - a.longitude_deg, 360.0) * kDegree;
  const double s = std::sin(dlat / 2), t = std::sin(dlon / 2);
  const double h = s * s + std::cos(a.latitude_deg * kDegree) * std::cos(b.latitude_deg * kDegree) * t * t;
  return 2 * kEarthKm * std::asin(std::min(1.0, std::sqrt(h)));
}

}  // namespace hakea
