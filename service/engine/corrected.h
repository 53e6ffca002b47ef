// What the hours of a unit would be without the errors that were measured, for those who want to see it beside the raw ones.
// Nothing is decided by it: where it would decide otherwise, that is said.
#pragma once

#include <optional>
#include <vector>

#include "service/engine/snapshot.h"

namespace hakea::service {

struct CorrectedHours {
  std::vector<std::size_t> quantities;
  // By quantity above, of the first point and member; an hour without a correction is as it was.
  std::vector<core::Column> columns;
  // By quantity above and hour: the standard deviation of what is still to be expected; NaN where nobody knows.
  std::vector<std::vector<double>> deviations;
  std::vector<core::Fit> fit;  // by hour, of the each-hour limits on the corrected values, as core::fit_by_hour has the raw ones
};

// Of computed hours. None where nothing is corrected. Errors are those of the first point; what is taken off there is taken off
// at all points. Humidity follows from the corrected temperature and dew point; its own bias counts where the dew point has
// none.
std::optional<CorrectedHours> corrected_hours(const UnitView& view, const std::vector<std::vector<core::UnitHours>>& hours);

}  // namespace hakea::service
