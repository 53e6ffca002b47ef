// What the hours of one run hand on to the next.
#pragma once

#include <optional>

#include "core/catalogue/catalogue.h"
#include "core/wetness/advance.h"
#include "core/wetness/codes.h"

namespace hakea::core {

WetnessRecord wetness_record(const UnitHours& hours);
CodeRecord code_record(const UnitHours& hours);

// What has to be computed before a state is carried: the rows that go on from day to day, and what they are computed from.
Rows rows_of_states();

// The state, of computed hours, at the end of the last rain day that ends within the computed hours; none where no rain day does.
// A run that begins there with this state gives the values, to the bit, that one long run would have given.
std::optional<WetnessState> carried_state(const UnitHours& hours);

}  // namespace hakea::core
