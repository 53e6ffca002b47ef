// What the hours of a unit would be without the errors that were measured, for those who want to see it beside the raw ones.
// Nothing is decided by it: where it would decide otherwise, that is said.
#pragma once

#include <optional>
#include <vector>

#include "service/engine/snapshot.h"

namespace hakea::service {

struct CorrectedHours {
  std::vector<std::size_t> quantities;
  std::vector<core::Column> columns;  // by quantity above; an hour without a correction is as it was
  std::vector<core::Fit> fit;         // by hour, of the each-hour limits on the corrected values
};

// Of the first point and member of computed hours. None where nothing is corrected.
std::optional<CorrectedHours> corrected_hours(const UnitView& view, const std::vector<std::vector<core::UnitHours>>& hours);

}  // namespace hakea::service
