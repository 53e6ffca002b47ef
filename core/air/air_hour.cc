#include "core/air/air_hour.h"

namespace hakea::core {

AirHour reduce_air(std::span<const Level> levels, const SurfaceAir& surface, AirColumn& column, AirDepth depth) {
  const AirColumn* usable = !levels.empty() && prepare(levels, surface, column) == ColumnFault::none ? &column : nullptr;
  AirHour hour;
  hour.mixing = mixing_height(usable, surface);
  hour.transport = transport_wind(usable, surface, hour.mixing.height);
  if (usable) {
    hour.has_column = true;
    hour.inversion = surface_inversion(column);
    if (depth == AirDepth::mixing) return hour;
    hour.break_temperature = break_temperature(hour.inversion, column);
    hour.near_ground_gradient_k_km = near_ground_gradient(column);
    hour.c_haines = c_haines(column);
    hour.haines_index = haines_index(column, surface.ground_elevation);
    hour.hot_dry_windy = hot_dry_windy(column);
  }
  return hour;
}

}  // namespace hakea::core
