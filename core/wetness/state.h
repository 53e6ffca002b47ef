// What carries from one day to the next.
//
// The state at the end of a rain day D (09:00 local standard time on D): drought index, rain of the last days, litter
// moisture; the Canadian codes stand at noon standard of D. A state is advanced once a day and never twice: it knows the
// day it belongs to. Missing members are NaN and make what needs them unknown with reason no_state.
#pragma once

#include <limits>
#include <optional>
#include <vector>

#include "core/base/quantity.h"
#include "core/base/time.h"

namespace hakea::core {

struct RainEvent {
  UtcTime ended;        // end of its last hour with rain
  Millimetres amount;
};

struct WetnessState {
  LocalDate as_of{};                       // rain day D
  Millimetres kbdi;
  Millimetres interception_store;          // what KBDI's canopy can still take; missing = as after a dry day
  One drought_factor;                      // only when it was entered, not computed
  Percent litter_moisture, litter_moisture_sheltered;
  One ffmc, dmc, dc;
  std::optional<RainEvent> last_rain;      // as entered
  std::vector<double> daily_rain_mm;       // rain days up to and with D, oldest first; NaN where unknown
};

}  // namespace hakea::core
