// How smoke thins out downwind: the Gaussian plume of an area source, with a lid.
//
// Pasquill-Gifford spreads for open country in the fits of the EPA's ISC3 (EPA-454/B-95-003b, tables 1-1 and 1-2), drawn for
// some ten minutes and 100 m to 100 km; beyond 10 km they are drawn, not measured. The area source is the integral that the
// EPA's SCREEN3 and ISC3 use. A screening, not a forecast: over level ground, in one steady wind.
#pragma once

#include "core/air/plume_rise.h"

namespace hakea::core {

// Of stability class 1 (A) to 6 (F); missing for another class or at no distance.
Metres lateral_spread(int stability_class, Metres distance);
Metres vertical_spread(int stability_class, Metres distance);

// Ground-level vertical term of a plume at `height` between the ground and a lid, both of which reflect it; where the spread
// is over 1.6 lids, mixed evenly: sqrt(2 pi) sigma / lid. 0 for a plume above the lid. A missing lid is none.
double vertical_term(Metres height, Metres vertical_spread, Metres lid);

struct AreaSource {
  double rate_g_s = 0;   // of the whole area
  Metres along, across;  // its sides along and across the wind
  Metres height{0};      // of the plume, above the ground
  PlumeRise rise{};      // of a hot source: its own turbulence spreads it by a 3.5th of the rise, as in SCREEN3
};
struct SpreadingAir {
  int stability_class;
  MetresPerSecond wind;  // at least 1 m/s counts
  Metres lid;            // no lid counts in classes E and F
};
// Concentration at the ground on the axis, `downwind` of the centre of the area, g/m3. 0 upwind of it. NaN where an input is
// missing.
double area_concentration(const AreaSource& source, const SpreadingAir& air, Metres downwind);

}  // namespace hakea::core
