// Where the weather of a large unit is taken when nobody named its points: at its centroid and spread around it, so that one
// number does not stand for thousands of hectares (hard case H20 of the trade).
#pragma once

#include <vector>

#include "service/input/unit_json.h"

namespace hakea::service {

// From so large on [our own default]: a few cells of a fine grid.
inline constexpr double kLargeUnit_ha = 1000;

// Halfway from the centroid to the farthest edge north, east, south and west of it, those that lie inside. Empty for a point,
// and for what is not drawn right.
std::vector<Position> spread_positions(const Geometry& geometry);

// In the plane of longitude and latitude; 0 where spread_positions() gives none.
double area_ha(const Geometry& geometry);

}  // namespace hakea::service
