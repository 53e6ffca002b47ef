// The soil dryness index: millimetres of rain that would wet the soil through.
//
// Mount (1972), Tasmanian Forestry Commission bulletin; its one set of parameters that is at hand, the evapotranspiration of
// Hobart under one class of canopy, from the open R packages ecbtools and firekit. A canopy catches three tenths of the rain
// until it holds 8 points, and gives off 2 points on each wet day; a fortieth runs off (1 point = 0.254 mm).
#pragma once

#include "core/base/quantity.h"

namespace hakea::core {

struct SoilDryness {
  double deficit_mm = 0;
  double canopy_mm = 0;  // rain that the canopy holds
};

// One rain day on, from its rain and its highest temperature. Missing in, missing out.
SoilDryness soil_dryness_step(SoilDryness before, Millimetres rain, Celsius highest_temperature);

// Where Hobart's evapotranspiration stands for the place's own: Tasmania and its islands.
bool is_in_tasmania(double latitude_deg, double longitude_deg);

}  // namespace hakea::core
