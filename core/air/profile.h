// A column of air above a point and what follows from it for smoke: mixing height, transport wind, ventilation.
// (Shapes fixed here; the models stand in mixing_height.h and transport.h.)
#pragma once

#include <cstdint>
#include <vector>

#include "core/base/quantity.h"

namespace hakea::core {

// Levels from the ground up, heights above the model's own ground. NaN = missing.
struct Profile {
  std::vector<double> pressure_hpa, height_m, temperature_c, dew_point_c, u_kmh, v_kmh;
  std::size_t size() const { return pressure_hpa.size(); }
};

struct SurfaceAir {
  Celsius temperature, dew_point;     // 2 m, at the model's elevation
  Hectopascals pressure;              // at the model's ground
  KilometresPerHour wind_speed;       // 10 m
  Degrees wind_from_direction;
  Metres model_mixing_height;         // the feed's own, missing where it has none
  Degrees solar_elevation;
};

enum class MixingMethod : std::uint8_t { none, model, parcel, bulk_richardson, mechanical };

struct AirHour {
  Metres mixing_height;               // above the model's ground
  MixingMethod method = MixingMethod::none;
  bool methods_disagree = false;
  KilometresPerHour transport_wind_speed;
  Degrees transport_wind_from_direction;
};

// The decision order of atmosphere.md §3.1 for one hour. An empty profile is allowed.
AirHour reduce_profile(const Profile& profile, const SurfaceAir& surface);

}  // namespace hakea::core
