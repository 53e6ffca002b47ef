// The air above the demo's ground, on the levels of a weather model.
#pragma once

#include <span>

#include "service/demo/weather_story.h"

namespace hakea::service {

// What levels of a model would show above such ground: a mixed layer as deep as told under a stable one by day, a stable
// layer that mixes as deep as told by night, and wind that carries 1.4 times as fast as at 10 m, turned by 15 degrees.
struct LevelAir {
  double temperature_c, relative_humidity, eastward_kmh, northward_kmh, geopotential_height_m;
};
// `levels_hpa` descending. Levels below the ground are filled as models do, by extrapolation.
void levels_above(const StoryAir& air, Metres ground, Degrees solar_elevation, std::span<const double> levels_hpa,
                  std::span<LevelAir> levels);

}  // namespace hakea::service
