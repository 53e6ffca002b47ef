// What is shown of a unit's hours: those of its first point and member, with the fit by hour.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/prescription/hour_fit.h"
#include "service/engine/corrected.h"
#include "service/engine/snapshot.h"

namespace hakea::service {

struct ShownHours {
  core::UnitHours hours;
  std::vector<core::Fit> fit;
  std::optional<CorrectedHours> corrected;  // of the main series
};

// Between two instants, `to` excluded; `quantities` by catalogue index. Error: `not_found`, when the run is not at hand.
Result<ShownHours> hours_to_show(const UnitView& view, const std::optional<std::string>& run, std::optional<UtcTime> from,
                                 std::optional<UtcTime> to, UtcTime now, const std::vector<std::size_t>& quantities);

// The hours [begin, end) of a column.
core::Column part_of(const core::Column& column, std::size_t begin, std::size_t end);

}  // namespace hakea::service
