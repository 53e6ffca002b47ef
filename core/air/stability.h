// How readily the air near the ground mixes: the Pasquill classes, 1 = A (very unstable) to 6 = F (stable).
//
// Two published ways, both as EPA-454/R-99-005 (2000), section 6.4, gives them: Turner's, from wind, sun and cloud; and the
// solar radiation / delta-T method, from wind and radiation by day, from wind and the temperature gradient by night.
#pragma once

#include <cstdint>
#include <string_view>

#include "core/base/quantity.h"

namespace hakea::core {

// ---- Turner (1964), J. Appl. Meteor. 3, 83-91; EPA-454/R-99-005 section 6.4.1.

struct TurnerSky {
  double cloud_tenths;
  Metres ceiling;  // base of the cloud; missing where it is not known
};

// 4 with the sun above 60 degrees, 3 above 35, 2 above 15, else 1.
int insolation_class(Degrees solar_elevation);
// 4 (strong heating) to -2 (strong cooling). `is_night`: from one hour before sunset to one hour after sunrise. Where the
// ceiling is not known it counts as low by day and as high by night: the more stable of the classes it may be.
int net_radiation_index(Degrees solar_elevation, bool is_night, TurnerSky sky);
// 1 to 7; the table's wind classes are whole knots. 7 counts as 6 (F). 0 where the wind is missing.
int turner_class(MetresPerSecond wind, int net_radiation_index);

// ---- Solar radiation / delta-T; EPA-454/R-99-005 table 6-7.

// By day; 0 where an input is missing.
int radiation_class(MetresPerSecond wind, WattsPerSquareMetre radiation);
// By night, from whether the temperature rises with height.
int gradient_class(MetresPerSecond wind, bool warms_upwards);

// ---- The decision.

enum class StabilityMethod : std::uint8_t { none, radiation, gradient, turner };
std::string_view word(StabilityMethod method);

struct StabilityInputs {
  MetresPerSecond wind;  // 10 m
  WattsPerSquareMetre radiation;
  double gradient_k_km = std::numeric_limits<double>::quiet_NaN();  // of the lowest layer, warming upwards positive
  Percent cloud;
  Degrees solar_elevation;
  bool is_near_dark = false;  // within an hour of sunset or sunrise, or by night
};

struct Stability {
  int value = 0;  // 1 to 6; 0 where no method has what it needs
  StabilityMethod method = StabilityMethod::none;
};

// With the sun above the horizon from the radiation, below it from the gradient; Turner's class where that input is missing.
Stability stability(const StabilityInputs& inputs);

}  // namespace hakea::core
