// From the open wind at 10 m to the wind at the flames, by the kind of fuel.
//
// Forest: a unit's own reduction, else Gould (1994) for regrowth (spread_control_burning.h). Heath, moorland and spinifex:
// the share or height that each model names. Fuel beds: midflame wind, here.
#pragma once

#include "core/base/quantity.h"
#include "core/fire/fuel.h"

namespace hakea::core {

// Midflame wind over wind at 20 ft above the vegetation, Albini & Baughman (1979), USDA Forest Service INT-221, as given by
// Andrews (2012), RMRS-GTR-266 [from memory; agrees with public tables of the factor].
//   in the open          1.83 / ln((20 + 0.36 d) / (0.13 d)), d the depth of the bed in ft
//   under a canopy       0.555 / (sqrt(f h) ln((20 + 0.36 h) / (0.13 h))), h its height in ft, f the share of it that is crown
double open_midflame_factor(Metres depth);
inline constexpr double kTenMetresOverTwentyFeet = 1.15;
double sheltered_midflame_factor(Metres canopy_height, double crown_share);

// Open wind at 10 m over midflame wind: 1.15 (from 10 m to 20 ft, [from memory]) over the factor. Under a canopy when its height,
// cover and crown ratio are known and fill more than a twentieth (crown ratio times cover / 3). Missing without a fuel bed.
double wind_reduction_to_midflame(const Fuel& fuel);

}  // namespace hakea::core
