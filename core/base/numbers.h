// Plain numbers that formulas share.
#pragma once

#include <limits>
#include <numbers>

namespace hakea {

inline constexpr double kNaN =
    std::numeric_limits<double>::quiet_NaN();              // missing, where neither a quantity nor a column says it
inline constexpr double kDegree = std::numbers::pi / 180;  // radians
inline constexpr double kFreezing = 273.15;                // K, 0 degC
inline constexpr double kFoot = 0.3048;                    // m

}  // namespace hakea
