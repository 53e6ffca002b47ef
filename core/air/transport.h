// The wind that carries smoke, and how much air it has to thin out in.
#pragma once

#include <span>

#include "core/air/profile.h"

namespace hakea::core {

struct TransportWind {
  MetresPerSecond speed;    // mean of the speeds: what ventilates
  Degrees from_direction;   // of the mean vector: where the smoke goes; missing when the vectors cancel
  bool at_surface = false;  // the 10 m wind stands in
};

// Mean of the wind from `base`, where the first wind given stands, to `top`, by the trapezoid rule over height with the wind
// interpolated to `top` (common practice, no source). Levels not above `base` are left out. A level without wind makes it
// missing; `top` above the last level counts as that level.
TransportWind layer_mean_wind(std::span<const double> height_m, std::span<const double> u_ms, std::span<const double> v_ms,
                              Metres base, Metres top);

// From 10 m to the mixing height. Below 100 m, or without wind on the levels, the 10 m wind stands in.
TransportWind transport_wind(const AirColumn* column, const SurfaceAir& surface, Metres mixing_height);

// Mixing height times transport wind; 0 where the mixing height is not above the ground.
SquareMetresPerSecond ventilation_index(Metres mixing_height, MetresPerSecond transport_wind);

}  // namespace hakea::core
