// Where a point of a unit is and how it lies.
#pragma once

#include "core/base/quantity.h"

namespace hakea::core {

struct Site {
  double latitude_deg = 0;   // north positive
  double longitude_deg = 0;  // east positive
  Metres elevation;
  Degrees slope;   // 0 = level
  Degrees aspect;  // the way the slope faces, downslope, from north clockwise
  bool sheltered = false;
};

}  // namespace hakea::core
