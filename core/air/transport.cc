#include "core/air/transport.h"

#include <algorithm>
#include <cmath>

#include "core/base/numbers.h"
#include "core/base/result.h"
#include "core/weather/wind.h"

namespace hakea::core {
namespace {

// Squares of winds cannot overflow, which is what std::hypot would spend its time on.
double length_of(double u, double v) { return std::sqrt(u * u + v * v); }

}  // namespace

TransportWind layer_mean_wind(std::span<const double> z, std::span<const double> u, std::span<const double> v, Metres base,
                              Metres top_height) {
  HAKEA_EXPECT(z.size() == u.size() && z.size() == v.size());
  const double top = top_height.value();
  if (z.empty() || !(top > base.value())) return {MetresPerSecond(kNaN), Degrees(kNaN)};
  double speed_sum = 0, u_sum = 0, v_sum = 0, reached = base.value(), u_below = u[0], v_below = v[0],
         below = length_of(u_below, v_below);
  for (std::size_t i = 1; i < z.size() && reached < top; ++i) {
    if (z[i] <= reached) continue;
    const double here = std::min(z[i], top), thickness = here - reached, share = thickness / (z[i] - reached);
    const double u_here = std::lerp(u_below, u[i], share), v_here = std::lerp(v_below, v[i], share);
    const double length = length_of(u_here, v_here);
    speed_sum += thickness * (below + length) / 2;
    u_sum += thickness * (u_below + u_here) / 2;
    v_sum += thickness * (v_below + v_here) / 2;
    reached = here;
    u_below = u_here;
    v_below = v_here;
    below = length;
  }
  const double depth = reached - base.value();
  if (!(depth > 0)) return {MetresPerSecond(kNaN), Degrees(kNaN)};
  const Wind mean =
      wind_of({to<KilometresPerHour>(MetresPerSecond(u_sum / depth)), to<KilometresPerHour>(MetresPerSecond(v_sum / depth))});
  const bool cancels = mean.from.value() == 0 && speed_sum > 0;  // calm as a vector, though the air moves
  return {MetresPerSecond(speed_sum / depth), cancels ? Degrees(kNaN) : mean.from};
}

TransportWind transport_wind(const AirColumn* column, const SurfaceAir& surface, Metres mixing_height) {
  constexpr Metres kShallow{100}, kAnemometer{10};
  if (mixing_height.is_missing()) return {MetresPerSecond(kNaN), Degrees(kNaN)};
  if (column != nullptr && mixing_height >= kShallow) {
    const TransportWind mean = layer_mean_wind(column->height_m, column->u_ms, column->v_ms, kAnemometer, mixing_height);
    if (!mean.speed.is_missing()) return mean;
  }
  return {to<MetresPerSecond>(surface.wind_speed), surface.wind_from_direction, true};
}

SquareMetresPerSecond ventilation_index(Metres mixing_height, MetresPerSecond transport_wind) {
  if (mixing_height.value() <= 0 && !transport_wind.is_missing()) return SquareMetresPerSecond(0);
  return SquareMetresPerSecond(mixing_height.value() * transport_wind.value());
}

}  // namespace hakea::core
