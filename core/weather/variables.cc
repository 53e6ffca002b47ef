#include "core/weather/variables.h"

#include <array>

#include "core/base/result.h"

namespace hakea::core {
namespace {

// Ranges are wider than any weather on record near the ground (WMO archive of extremes); they catch wrong units and
// damaged data, not unusual days.
constexpr std::array<FedVariable, kFedCount> kVariables = [] {
  using enum Fed;
  using enum TimeKind;
  return std::array<FedVariable, kFedCount>{{
      {air_temperature, "air_temperature", "degC", "air_temperature", instant, false, -90, 60},
      {dew_point_temperature, "dew_point_temperature", "degC", "dew_point_temperature", instant, false, -100, 45},
      {relative_humidity, "relative_humidity", "%", "relative_humidity", instant, false, 0, 105},
      {specific_humidity, "specific_humidity", "kg kg-1", "specific_humidity", instant, false, -0.001, 0.06},
      {wind_speed, "wind_speed", "km/h", "wind_speed", instant, false, 0, 450},
      {wind_from_direction, "wind_from_direction", "degree", "wind_from_direction", instant, false, -360, 720},
      {eastward_wind, "eastward_wind", "km/h", "eastward_wind", instant, false, -450, 450},
      {northward_wind, "northward_wind", "km/h", "northward_wind", instant, false, -450, 450},
      {x_wind, "x_wind", "km/h", "x_wind grid_eastward_wind", instant, false, -450, 450},
      {y_wind, "y_wind", "km/h", "y_wind grid_northward_wind", instant, false, -450, 450},
      {wind_gust, "wind_gust", "km/h", "wind_speed_of_gust", extreme, false, 0, 450},
      {precipitation_amount, "precipitation_amount", "mm",
       "precipitation_amount lwe_thickness_of_precipitation_amount precipitation_flux lwe_precipitation_rate rainfall_amount "
       "rainfall_flux",
       amount, false, -1, 2000},
      {shortwave_radiation, "shortwave_radiation", "W m-2",
       "surface_downwelling_shortwave_flux_in_air integral_wrt_time_of_surface_downwelling_shortwave_flux_in_air", mean, false,
       -10, 1600},
      {cloud_area_fraction, "cloud_area_fraction", "%", "cloud_area_fraction", instant, false, 0, 101},
      {surface_pressure, "surface_pressure", "hPa", "surface_air_pressure", instant, false, 450, 1100},
      {mixing_height, "mixing_height", "m", "atmosphere_boundary_layer_thickness", instant, false, 0, 9000},
      {surface_altitude, "surface_altitude", "m", "surface_altitude", fixed, false, -500, 9000},
      {land_area_fraction, "land_area_fraction", "1", "land_area_fraction land_binary_mask", fixed, false, 0, 1},
      {level_temperature, "level_temperature", "degC", "air_temperature", instant, true, -120, 60},
      {level_relative_humidity, "level_relative_humidity", "%", "relative_humidity", instant, true, 0, 150},
      {level_specific_humidity, "level_specific_humidity", "kg kg-1", "specific_humidity", instant, true, -0.001, 0.06},
      {level_dew_point_temperature, "level_dew_point_temperature", "degC", "dew_point_temperature", instant, true, -130, 45},
      {level_eastward_wind, "level_eastward_wind", "km/h", "eastward_wind", instant, true, -600, 600},
      {level_northward_wind, "level_northward_wind", "km/h", "northward_wind", instant, true, -600, 600},
      {level_x_wind, "level_x_wind", "km/h", "x_wind grid_eastward_wind", instant, true, -600, 600},
      {level_y_wind, "level_y_wind", "km/h", "y_wind grid_northward_wind", instant, true, -600, 600},
      {level_height, "level_height", "m", "geopotential_height geopotential altitude height_above_mean_sea_level", instant, true,
       -1000, 60000},
  }};
}();

consteval bool rows_in_order() {
  for (std::size_t i = 0; i < kVariables.size(); ++i)
    if (static_cast<std::size_t>(kVariables[i].id) != i) return false;
  return true;
}
static_assert(rows_in_order());

}  // namespace

std::span<const FedVariable> fed_variables() { return kVariables; }

const FedVariable& describe(Fed id) { return kVariables[static_cast<std::size_t>(id)]; }

std::optional<Fed> fed_by_key(std::string_view key) {
  for (const FedVariable& v : kVariables)
    if (v.key == key) return v.id;
  return std::nullopt;
}

}  // namespace hakea::core
