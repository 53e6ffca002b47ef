// One hour of air above a point, reduced to what a burn plan asks of it.
//
// Every method uses the 2 m air of that hour at the model's own elevation, so that ground and profile belong together.
#pragma once

#include <limits>
#include <span>

#include "core/air/aloft.h"
#include "core/air/inversion.h"
#include "core/air/mixing_height.h"
#include "core/air/transport.h"

namespace hakea::core {

struct AirHour {
  MixingHeight mixing;
  TransportWind transport;
  bool has_column = false;  // the levels could be used
  // Only with a column.
  SurfaceInversion inversion;
  Celsius break_temperature;  // missing without an inversion
  double near_ground_gradient_k_km = std::numeric_limits<double>::quiet_NaN();
  double c_haines = std::numeric_limits<double>::quiet_NaN(), haines_index = std::numeric_limits<double>::quiet_NaN();
  HotDryWindy hot_dry_windy{std::numeric_limits<double>::quiet_NaN()};
};

// How much is made of a column: all, or only what everybody asks for, its mixing, its wind and the strength of an inversion.
enum class AirDepth : std::uint8_t { mixing, all };

// `levels` may be empty. `column` is working memory, kept by the caller from hour to hour.
AirHour reduce_air(std::span<const Level> levels, const SurfaceAir& surface, AirColumn& column, AirDepth depth = AirDepth::all);

}  // namespace hakea::core
