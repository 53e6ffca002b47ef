// From the hours of a record to the standing drought index and drought factor, and to the state the next run begins with.
//
// The index of rain day D is made of the index of D - 1, the rain of the 24 hours to 09:00 on D and the highest temperature
// of the same hours, and stands from then. Days up to the state's `as_of` are never advanced again. A reading replaces the
// index at its hour and the next day goes on from it.
#pragma once

#include <optional>

#include "core/weather/column.h"
#include "core/wetness/rain_history.h"
#include "core/wetness/state.h"

namespace hakea::core {

struct WetnessRecord {
  RainRecord rain;
  const Column* air_temperature;
  Millimetres annual_rain;
  const Column* kbdi_readings;            // may be null
  const Column* drought_factor_readings;  // may be null
};

// A series without a state begins at field capacity and counts after a year (365 rain days). A day with incomplete weather
// advances the index by what is known, and it is flagged spin_up until a person enters it; after more than five such days
// it is missing (gap).
inline constexpr int kRunUpDays = 365;
inline constexpr int kMostGapDays = 5;

Column kbdi(const WetnessRecord& record);

// From the rain of the last 20 rain days and the standing index, `kbdi` being the column above. With fewer days known
// after a person entered the last rain or the factor itself, or with up to five incomplete days: computed as if no more
// had fallen, flagged spin_up (it is then too high, never too low). Otherwise missing (no_state, or gap).
Column drought_factor(const WetnessRecord& record, const Column& kbdi);

// The wetness members of the state at the end of the last rain day that ends within the record; none where no rain day
// does. Litter and codes are left missing.
std::optional<WetnessState> wetness_after(const WetnessRecord& record);

}  // namespace hakea::core
