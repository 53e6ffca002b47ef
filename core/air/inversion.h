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
// The same as the temperature that a thermometer at 2 m shows then, in air as moist as now. Missing without an inversion.
Celsius break_temperature(const SurfaceInversion& inversion, const AirColumn& column);

// How long before `now` the 2 m temperature passed the break temperature, linear over the hour before it; 0 where it did
// not: then the profile has lost its inversion by some other way, and the hour itself is taken.
Hours since_break(Celsius break_temperature, Celsius an_hour_before, Celsius now);

// Warming from the 2 m point to the lowest level, K/km; NaN where that level is more than 250 m up (common practice, no
// source).
double near_ground_gradient(const AirColumn& column);

}  // namespace hakea::core
