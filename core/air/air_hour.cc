#include "core/air/air_hour.h"

namespace hakea::core {

AirHour reduce_air(std::span<const Level> levels, const SurfaceAir& surface, AirColumn& column) {
  const AirColumn* usable = !levels.empty() && prepare(levels, surface, column) == ColumnFault::none ? &column : nullptr;
  AirHour hour{.mixing = mixing_height(usable, surface), .transport = {}, .has_column = usable != nullptr, .inversion = {}};
  hour.transport = transport_wind(usable, surface, hour.mixing.height);
  if (usable) hour.inversion = surface_inversion(*usable);
  return hour;
}

}  // namespace hakea::core
