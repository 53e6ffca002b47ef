// The column of air above a point, made fit for use.
//
// Levels come as a model or a sonde gives them: in any order, some below the ground, some without a value. prepare()
// keeps what lies above the ground, puts it in order of height, computes theta_v, and refuses a column that cannot be
// trusted. An AirColumn keeps its memory from one use to the next, so that reducing many columns allocates nothing.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "core/base/quantity.h"

namespace hakea::core {

// NaN = missing. Without pressure or temperature a level is not used.
struct Level {
  double pressure_hpa, height_m;  // height above the model's ground
  double temperature_c, vapour_pressure_hpa;
  double u_ms, v_ms;  // towards east and north
};

// What is known at the ground, at the model's own elevation, for the hour in question.
struct SurfaceAir {
  Celsius temperature, dew_point;  // 2 m
  Hectopascals pressure;           // may be missing where the levels have heights
  KilometresPerHour wind_speed;    // 10 m
  Degrees wind_from_direction;
  Percent cloud;
  Degrees solar_elevation, latitude;
  Metres model_mixing_height;                   // the feed's own, missing where it has none
  Metres ground_elevation = Metres::missing();  // of the model's ground above the sea
};

// Why a column cannot be used.
enum class ColumnFault : std::uint8_t { none, no_levels, no_surface, not_monotonic, gap, jump };
std::string_view word(ColumnFault fault);

// From the ground up. Index 0 is the 2 m point; its wind is the 10 m wind.
struct AirColumn {
  std::vector<double> pressure_hpa, height_m, temperature_k, theta_v_k, u_ms, v_ms;
  std::vector<double> vapour_pressure_hpa;  // as given, NaN where it was not
  bool is_dry = false;                      // no humidity aloft: theta_v is theta

  std::size_t size() const { return height_m.size(); }
  std::size_t levels_below(Metres height) const;  // levels above the 2 m point and at most this high

 private:
  friend ColumnFault prepare(std::span<const Level> levels, const SurfaceAir& surface, AirColumn& column);
  std::vector<Level> kept_;
  std::vector<double> exner_of_, exner_;  // pressures of a run repeat; their exner functions are kept
};

// Fills `column`; on a fault its contents mean nothing. Levels at pressures below 300 hPa are left out. A missing dew
// point at 2 m or vapour pressure on any level in use makes the whole column dry. Heights come from the levels, or from
// the hypsometric equation when any level in use has none.
// Refused: a pressure that does not fall with height, a gap of more than 150 hPa that begins below 700 hPa, neighbours at
// most 150 hPa apart whose theta differs by more than 15 K (rules: common practice, no source).
ColumnFault prepare(std::span<const Level> levels, const SurfaceAir& surface, AirColumn& column);

// The column between two, `share` of the way from a to b. Both have the same levels in the same order. Everything is
// linear in time; wind speed too, while its direction turns with the components, or a shift of wind would pass through a calm.
void interpolate(std::span<const Level> a, std::span<const Level> b, double share, std::span<Level> between);

}  // namespace hakea::core
