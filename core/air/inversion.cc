#include "core/air/inversion.h"

#include <cmath>
#include <limits>

#include "core/air/thermo.h"

namespace hakea::core {

SurfaceInversion surface_inversion(const AirColumn& column) {
  constexpr double kPresentKelvin = 1, kSagKelvin = 0.3, kSagMetres = 100;
  const auto& t = column.temperature_k;
  const auto& z = column.height_m;
  std::size_t top = 0;
  bool sagged = false;
  for (std::size_t i = 1; i < column.size(); ++i) {
    if (t[i] > t[i - 1]) {
      if (t[i] > t[top]) top = i;
      continue;
    }
    if (sagged || t[i - 1] - t[i] > kSagKelvin || z[i] - z[i - 1] >= kSagMetres) break;
    sagged = true;
  }
  if (column.size() == 0 || t[top] - t[0] < kPresentKelvin) return {};
  return {Metres(z[top]), t[top] - t[0], Kelvin(column.theta_v_k[top])};
}

Kelvin break_temperature(const SurfaceInversion& inversion, Hectopascals surface_pressure) {
  return Kelvin(inversion.theta_v_top.value() * exner(surface_pressure));
}

Celsius break_temperature(const SurfaceInversion& inversion, const AirColumn& column) {
  if (!inversion.is_present()) return Celsius::missing();
  return to<Celsius>(Kelvin(inversion.theta_v_top.value() / column.theta_v_k[0] * column.temperature_k[0]));
}

Hours since_break(Celsius break_temperature, Celsius an_hour_before, Celsius now) {
  const double at = break_temperature.value(), before = an_hour_before.value(), after = now.value();
  if (!(before < at && after >= at)) return Hours(0);
  return Hours((after - at) / (after - before));
}

double near_ground_gradient(const AirColumn& column) {
  constexpr double kNear = 250;  // m
  if (column.size() < 2 || column.height_m[1] > kNear) return std::numeric_limits<double>::quiet_NaN();
  return 1000 * (column.temperature_k[1] - column.temperature_k[0]) / (column.height_m[1] - column.height_m[0]);
}

}  // namespace hakea::core
