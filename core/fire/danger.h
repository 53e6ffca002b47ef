// The forest fire danger index, mark 5.
//
// McArthur (1967), Leaflet 107, as equations by Noble, Bary & Gill (1980), Aust. J. Ecol. 5, 201-203.
#pragma once

#include "core/base/quantity.h"

namespace hakea::core {

struct DangerInputs {
  One drought_factor;
  Celsius air;
  Percent relative_humidity;
  KilometresPerHour wind_speed;  // 10 m in the open
};

// 0 where the drought factor is 0. Not capped.
One ffdi(const DangerInputs& in);

// The box over which the equation is checked against an independent form of it: D 0-10, T 0-45, H 5-100, V 0-80. (The
// meter's own dials are narrower at the mild end, where the index is near nothing whatever the equation says.)
bool in_ffdi_domain(const DangerInputs& in);

}  // namespace hakea::core
