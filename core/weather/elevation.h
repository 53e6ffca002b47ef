// From the height of a model's ground to the height of a unit.
//
// Temperature by a stated lapse of 6.5 degC a kilometre; the vapour of the air (its dew point) is kept and the relative
// humidity follows; pressure by the hydrostatic equation in air of that lapse (ISO 2533); the mixing height is counted
// from the unit's ground and can be zero or less, which says that the unit stands above the mixed layer.
// common practice, no source for the lapse; by night a slope above an inversion is warmer than this says, so a large
// difference is reported.
#pragma once

#include "core/base/quantity.h"
#include "core/weather/humidity.h"

namespace hakea::core {

struct ElevationStep {
  Metres model, unit;
};

inline constexpr double kGravity = 9.80665;         // m s-2, standard gravity
inline constexpr double kStandardGas = 287.05287;   // J kg-1 K-1, dry air of the standard atmosphere
inline constexpr double kLapse = 0.0065;            // K/m
inline constexpr double kLargeElevationStep = 250;  // m, above which the correction is doubtful
bool is_large(ElevationStep step);

// What is missing stays missing. Air cooled to its dew point is saturated, and the dew point goes down with the temperature from
// there.
AirAndDew at_unit_elevation(AirAndDew model, ElevationStep step);
// `air` is the model's.
Hectopascals at_unit_elevation(Hectopascals model, Celsius air, ElevationStep step);

Metres mixing_height_above_unit(Metres above_model_ground, ElevationStep step);

}  // namespace hakea::core
