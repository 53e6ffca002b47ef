// Thermodynamics of moist air and the heights of pressure levels.
//
// kappa is 2/7, the value behind the published reference numbers; R/cp from rounded constants moves theta at 800 hPa by
// 0.014 K. Vapour pressure is over water at every temperature, as models and stations report humidity. NaN in gives NaN out.
#pragma once

#include "core/base/quantity.h"
#include "core/weather/elevation.h"

namespace hakea::core {

inline constexpr double kDryAirConstant = 287.05;  // J kg-1 K-1
inline constexpr double kKappa = 2.0 / 7.0;        // R / cp of dry air
inline constexpr double kVapourRatio = 0.62198;    // molar mass of water over that of dry air

// (p / 1000 hPa)^kappa.
double exner(Hectopascals pressure);
// theta = T / exner(p).
Kelvin potential_temperature(Hectopascals pressure, Kelvin temperature);
// T_v = T (1 + w/epsilon) / (1 + w) with w the mixing ratio, written in vapour pressure: T p / (p - (1 - epsilon) e).
// A vapour pressure at or above the pressure gives NaN.
Kelvin virtual_temperature(Hectopascals pressure, Kelvin temperature, Hectopascals vapour_pressure);

struct CondensationLevel {
  Hectopascals pressure;
  Kelvin temperature;
};
// Lifting condensation level: Bolton (1980), Mon. Wea. Rev. 108, 1046-1053, eq. 15; within 0.3 hPa and 0.02 K of the exact
// solution near the ground.
CondensationLevel lifting_condensation_level(Hectopascals pressure, Kelvin temperature, Kelvin dew_point);

// Thickness of a layer by the hypsometric equation, `mean` its mean virtual temperature.
Metres thickness(Hectopascals below, Hectopascals above, Kelvin mean);

// Standard atmosphere (ISO 2533, US 1976), geopotential heights up to 20 km; NaN outside -2000..20000 m.
Kelvin standard_temperature(Metres geopotential_height);
Hectopascals standard_pressure(Metres geopotential_height);
Metres standard_height(Hectopascals pressure);  // inverse, up to 11 km

// Between geopotential and geometric height, earth radius 6356766 m (US Standard Atmosphere 1976).
Metres geometric_height(Metres geopotential_height);
Metres geopotential_height(Metres geometric_height);

}  // namespace hakea::core
