// The quantities that a weather feed can give: one row each, known by the words of the CF standard name table.
//
// This is what ingest maps files onto. Rows with a catalogue key become columns of a unit's hours as they are; the others
// (components of the wind, other measures of humidity) are turned into those by ingest.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace hakea::core {

enum class Fed : std::uint8_t {
  // near the ground
  air_temperature,
  dew_point_temperature,
  relative_humidity,
  specific_humidity,
  wind_speed,
  wind_from_direction,
  eastward_wind,
  northward_wind,
  x_wind,
  y_wind,
  wind_gust,
  precipitation_amount,
  shortwave_radiation,
  cloud_area_fraction,
  surface_pressure,
  mixing_height,
  // fixed fields
  surface_altitude,
  land_area_fraction,
  // on levels above the ground
  level_temperature,
  level_relative_humidity,
  level_specific_humidity,
  level_dew_point_temperature,
  level_eastward_wind,
  level_northward_wind,
  level_x_wind,
  level_y_wind,
  level_height,
};
inline constexpr std::size_t kFedCount = 27;

// How a value stands to its time, which decides how coarser steps become hours (atmosphere.md §7.2).
enum class TimeKind : std::uint8_t { instant, amount, mean, extreme, fixed };

struct FedVariable {
  Fed id;
  std::string_view key;             // the word used in a feed's aliases and in `inspect`; a catalogue key where one exists
  std::string_view unit;            // the unit ingest delivers, as UDUNITS reads it
  std::string_view standard_names;  // CF standard names that mean it, separated by blanks
  TimeKind kind;
  bool on_levels;
  double lowest, highest;  // a value outside is a fault of the file and is dropped with a reason
};

std::span<const FedVariable> fed_variables();
const FedVariable& describe(Fed id);
std::optional<Fed> fed_by_key(std::string_view key);

}  // namespace hakea::core
