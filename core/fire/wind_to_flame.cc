#include "core/fire/wind_to_flame.h"

#include <cmath>

#include "core/base/numbers.h"

namespace hakea::core {
namespace {

double log_profile(double feet) { return std::log((20 + 0.36 * feet) / (0.13 * feet)); }

}  // namespace

double open_midflame_factor(Metres depth) { return 1.83 / log_profile(depth.value() / kFoot); }

double sheltered_midflame_factor(Metres canopy_height, double crown_share) {
  const double feet = canopy_height.value() / kFoot;
  return 0.555 / (std::sqrt(crown_share * feet) * log_profile(feet));
}

double wind_reduction_to_midflame(const Fuel& fuel) {
  if (!fuel.bed) return kNaN;
  const double crown_share = fuel.crown_ratio * fuel.canopy_cover.value() / 100 / 3;
  const bool is_sheltered = crown_share > 0.05 && fuel.canopy_height.value() > 0;
  const double factor = is_sheltered ? sheltered_midflame_factor(fuel.canopy_height, crown_share)
                                     : open_midflame_factor(Metres(fuel.bed->depth_ft * kFoot));
  return kTenMetresOverTwentyFeet / factor;
}

}  // namespace hakea::core
