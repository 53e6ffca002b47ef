#include "core/air/inversion.h"

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

}  // namespace hakea::core
