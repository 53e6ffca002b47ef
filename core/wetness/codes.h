// The Canadian codes along the hours of a record.
//
// The codes of a date are made at noon of local standard time from those of the noon before, the weather of that noon and the
// rain of the 24 hours before it, and stand until the next noon. Noons up to the state's are never advanced again. A reading
// replaces a code at its hour, and the next noon goes on from it; the indices follow at once.
//
// A noon without the weather that a code needs leaves it as it was, and it is missing until the next noon. After that, and
// after 24 hours whose rain is not all known (what is known wets it), it is flagged spin_up until a person enters it; after
// more than kMostGapDays such days it is missing. The fine fuel code forgets: each whole day takes one such day back.
// Without a state, a chain begins at kFirstFfmc, kFirstDmc and kFirstDc and counts after kRunUpDays whole days.
#pragma once

#include <array>
#include <optional>

#include "core/base/time.h"
#include "core/base/zone.h"
#include "core/weather/column.h"
#include "core/wetness/state.h"

namespace hakea::core {

struct CodeRecord {
  const Column* air_temperature;
  const Column* relative_humidity;
  const Column* wind_speed;
  const Column* rain;
  UtcHour first;
  const TimeZone* zone;
  double latitude_deg;
  const std::optional<WetnessState>* before;
  std::array<const Column*, 6> readings{};  // of ffmc dmc dc isi bui fwi; null where there are none
};

struct CodeColumns {
  Column *ffmc, *dmc, *dc, *isi, *bui, *fwi;
};
void canadian_codes(const CodeRecord& record, CodeColumns out);

// The codes' members of the state at 09:00 of `after.as_of`, which lies within the record or at its end.
void hand_on_codes(const CodeRecord& record, WetnessState& after);

}  // namespace hakea::core
