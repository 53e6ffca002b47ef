// Carrying a unit's state from rain day to rain day: where its record begins, and the rows that come to be.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "service/engine/weather_record.h"
#include "service/store/store.h"

namespace hakea::service {

// How far back hours are kept in a record, for what looks back from a window; the state stands for everything before.
inline constexpr std::chrono::days kKeptDays{10};

using CarriedDays = std::map<LocalDate, CarriedRow>;

// The carried row that a record begins with: the newest that lies `back` before the forecast and after the entered state.
// Null where there is none: then the entered state, if any, is what it begins with.
const CarriedRow* row_to_begin_with(const Unit& unit, const CarriedDays& carried, UtcHour forecast_begins,
                                    std::chrono::days back = kKeptDays);
// The state of that row, else the entered one.
std::optional<core::WetnessState> state_to_begin_with(const Unit& unit, const CarriedDays& carried, UtcHour forecast_begins,
                                                      std::vector<std::string>& troubles, std::chrono::days back = kKeptDays);

// Rows of the rain days that ended within the record's past and are new, or whose hours now come from other runs, or in whose
// hours something else was read, and of all days after such a one; of the first day after an entered state also where that
// is another now. A row is made of the record's first point; the provenance says which inputs of which hours came from which
// run or station, and what was entered, so that the same hours are never advanced twice and a late run that knew no better
// changes nothing. A row of which every input was observed is made anew only by what was observed.
std::vector<CarriedRow> carried_rows(const UnitWeatherRecord& record, const Unit& unit, const CarriedDays& carried);

}  // namespace hakea::service
