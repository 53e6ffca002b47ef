// What carries from one day to the next.
//
// The state at the end of a rain day D (09:00 local standard time on D): drought index, rain of the last days, litter
// moisture; the Canadian codes stand at noon standard of D. A state is advanced once a day and never twice: it knows the
// day it belongs to. Missing members are NaN and make what needs them unknown with reason no_state.
//
// The first block is what a person may enter; the rest is what a run hands on so that the next one continues as if there
// had been only one.
#pragma once

#include <array>
#include <limits>
#include <optional>
#include <vector>

#include "core/base/quantity.h"
#include "core/base/time.h"

namespace hakea::core {

struct RainEvent {
  UtcTime ended;  // end of its last hour with rain
  Millimetres amount;
};

// A drought factor that a person gave stands for all rain before it: as if `rain` had fallen on that rain day (drought.h).
struct EquivalentRain {
  LocalDate day{};
  double rain_mm = 0;
};

// What belongs to the Canadian codes (in the order ffmc, dmc, dc) that a run hands on at 09:00, three hours before the next
// are made.
struct CodesHandedOn {
  int noons_ago = 0;  // 0: the codes are those of noon of D, as a person entered them; 1: of the noon before
  double wind_at_noon_kmh = std::numeric_limits<double>::quiet_NaN();
  double rain_since_noon_mm = 0;
  int rain_gap_h = 0;  // hours of unknown rain since then
  std::array<int, 3> gap_days{};
  std::array<int, 3> is_reading{};   // 1 while a reading stands
  std::array<int, 3> why_missing{};  // of the last noon, as a Reason; 0 where there was a code
  std::array<double, 3> run_up{};    // the codes of a chain that is not yet a year long
  int run_up_days = 0;
};

// An hourly state at 09:00: of the hourly code, or of dead fuel of one class.
struct HourlyState {
  double value = std::numeric_limits<double>::quiet_NaN();
  int run_up_h = 0;  // hours of spin-up still to come
};

// A state that is made once a rain day: hundred-hour fuel, or the soil dryness index with what its canopy holds.
struct DailyState {
  double value = std::numeric_limits<double>::quiet_NaN();
  int run_up_days = 0;  // still to come
  int gap_days = 0;     // with incomplete weather
  double canopy_mm = 0;
};

struct WetnessState {
  LocalDate as_of{};  // rain day D
  Millimetres kbdi;
  One drought_factor;  // only when it was entered, not computed
  Percent litter_moisture, litter_moisture_sheltered;
  One ffmc, dmc, dc;
  std::optional<RainEvent> last_rain;  // as entered: nothing fell between it and the end of D

  Millimetres interception_store;           // what KBDI's canopy can still take; missing = as after a dry day
  std::vector<double> daily_rain_mm;        // rain days up to and with D, oldest first; NaN where unknown
  bool rain_before_is_assumed = false;      // the oldest of these days is a last rain that a person entered
  std::optional<UtcTime> rain_known_since;  // every hour from here to the end of D is known
  std::optional<EquivalentRain> equivalent_rain;
  int kbdi_gap_days = 0;  // days since the index was last entered that were advanced on incomplete weather
  double kbdi_run_up_mm = std::numeric_limits<double>::quiet_NaN();  // the index from 0 while its first year is not over
  int kbdi_run_up_days = 0;
  int litter_run_up_h = 0, litter_sheltered_run_up_h = 0;             // hours of spin-up still to come
  double canopy_store_mm = std::numeric_limits<double>::quiet_NaN();  // what the canopy over the litter can still take
  int canopy_dry_h = 0;
  std::vector<double> recent_rain_mm;  // by hour up to the end of D, oldest first, at most 48 and only where a model looks back
                                       // on them; NaN where missing
  CodesHandedOn codes;
  HourlyState hourly_ffmc, dead_fuel_1h, dead_fuel_10h, dead_fuel_100h;
  DailyState dead_fuel_100h_daily, soil_dryness;
};

}  // namespace hakea::core
