// How smoke thins out downwind: the Gaussian plume of an area source, with a lid.
//
// Pasquill-Gifford spreads for open country in the fits of the EPA's ISC3 (EPA-454/B-95-003b, tables 1-1 and 1-2), drawn for
// some ten minutes and 100 m to 100 km; beyond 10 km they are drawn, not measured. The area source is the integral that the
// EPA's SCREEN3 and ISC3 use. A screening, not a forecast: over level ground, in one steady wind.
#pragma once

#include <array>

#include "core/air/plume_rise.h"

namespace hakea::core {

// Of stability class 1 (A) to 6 (F); missing for another class or at no distance.
Metres lateral_spread(int stability_class, Metres distance);
Metres vertical_spread(int stability_class, Metres distance);

// Ground-level vertical term of a plume at `height` between the ground and a lid, both of which reflect it; where the spread
// is over 1.6 lids, mixed evenly: sqrt(2 pi) sigma / lid. 0 for a plume above the lid. A missing lid is none.
double vertical_term(Metres height, Metres vertical_spread, Metres lid);

struct SpreadingAir {
  int stability_class = 0;
  MetresPerSecond wind;  // at least 1 m/s counts
  Metres lid;            // missing: none; none counts in classes E and F
};

// An area that gives off smoke evenly, and a place downwind of its centre on the axis: what reaches the ground there. The
// spreads between the two are found once for each class and kept, so that hour after hour costs little.
class AreaPlume {
 public:
  AreaPlume(Metres along, Metres across, Metres downwind);  // sides of the area along and across the wind

  // g/m3. 0 upwind of the area; NaN where an input is missing.
  double from_ground(double rate_g_s, const SpreadingAir& air);
  // Of smoke that rises to a height: its own turbulence spreads it by a 3.5th of the rise, as in SCREEN3.
  double from_aloft(double rate_g_s, Metres height, const PlumeRise& rise, const SpreadingAir& air);

 private:
  static constexpr std::size_t kPoints = 15;
  struct Point {
    double x = 0, weight = 0, y = 0, z = 0;  // distance, of the integral, spreads; m
    double ground = 0;                       // what a source on the ground adds without a lid
  };
  struct Spreads {
    bool is_found = false;
    std::array<Point, kPoints> points;
    double ground = 0;
  };
  const Spreads& spreads(int stability_class);
  bool can_tell(double rate_g_s, const SpreadingAir& air) const;

  double along_, across_, downwind_;
  std::array<Spreads, 6> by_class_{};
};

}  // namespace hakea::core
