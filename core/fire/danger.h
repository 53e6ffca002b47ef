// The fire danger indices of McArthur: forest, mark 5, and grassland, mark 4; beside it marks 3 and 5, which are other indices.
//
// Forest: McArthur (1967), Leaflet 107, as equations by Noble, Bary & Gill (1980), Aust. J. Ecol. 5, 201-203.
// Grassland: Purton (1982), Bur. Met. Met. Note 147, in two transcriptions (base ten and base e) that agree. Marks 3 and 5:
// Noble et al. (1980); their digits are from memory and open transcriptions.
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

struct GrassDangerInputs {
  TonnesPerHectare load;  // of grass
  Percent curing;
  Celsius air;
  Percent relative_humidity;
  KilometresPerHour wind_speed;  // 10 m in the open
};

// log10 G = -0.6615 + 1.027 log10 Q - 0.004096 (100 - C)^1.536 + 0.01201 T + 0.2789 sqrt V - 0.09577 sqrt H. Not capped.
One gfdi(const GrassDangerInputs& in);
// Curing 50-100 %, humidity 5-100 %, wind 0-80 km/h.
bool in_gfdi_domain(const GrassDangerInputs& in);

// 2 exp(-23.6 + 5.01 ln C + 0.0281 T - 0.226 sqrt H + 0.633 sqrt V), for the standard load of 4.5 t/ha.
One gfdi_mark3(const GrassDangerInputs& in);

// With the meter's own fuel moisture; 0 above 30 %. Missing below 0 degC, where the moisture nears a pole.
One gfdi_mark5(const GrassDangerInputs& in);
Percent mark5_grass_moisture(const GrassDangerInputs& in);
One gfdi_mark5(Percent moisture, TonnesPerHectare load, KilometresPerHour wind_speed);

}  // namespace hakea::core
