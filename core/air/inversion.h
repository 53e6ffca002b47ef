// The inversion that stands on the ground: smoke under it goes nowhere.
#pragma once

#include "core/air/profile.h"

namespace hakea::core {

// All NaN-free when the column is usable; top and strength are 0 when no inversion stands on the ground.
struct SurfaceInversion {
  Metres top{0};          // above the model's ground
  double strength_k = 0;  // temperature at the top less that at 2 m
  Kelvin theta_v_top;
  bool is_present() const { return strength_k > 0; }
};

// Contiguous warming from 2 m up, in which one layer under 100 m may cool by at most 0.3 K; its top is the last warm point.
// Less than 1 K counts as none (common practice, no source).
SurfaceInversion surface_inversion(const AirColumn& column);

// The 2 m temperature at which a parcel reaches theta_v_top: theta (p / 1000 hPa)^kappa. A virtual temperature in moist air.
Kelvin break_temperature(const SurfaceInversion& inversion, Hectopascals surface_pressure);

}  // namespace hakea::core
