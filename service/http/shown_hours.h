// What is shown of a unit's hours: those of its first point and member, with the fit by hour.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/prescription/hour_fit.h"
#include "service/engine/corrected.h"
#include "service/engine/snapshot.h"
#include "service/http/member_spread.h"
#include "service/output/json_writer.h"

namespace hakea::service {

struct ShownHours {
  core::UnitHours hours;
  std::vector<core::Fit> fit;
  std::vector<std::vector<core::Fit>> limit_fits;  // of each limit by itself, in the order of the prescription
  std::optional<CorrectedHours> corrected;         // of the main series
  std::optional<MemberSpread> members;             // where it was asked for
};

// Between two instants, `to` excluded; `quantities` by catalogue index. Error: `not_found`, when the run is not at hand.
Result<ShownHours> hours_to_show(const UnitView& view, const std::optional<std::string>& run, std::optional<UtcTime> from,
                                 std::optional<UtcTime> to, UtcTime now, const std::vector<std::size_t>& quantities,
                                 bool with_members = false);

// "limits":[{"quantity","scope","fit":[…]}] into an open object.
void write_limit_fits(JsonWriter& out, const core::Prescription& prescription, const std::vector<std::vector<core::Fit>>& fits);

// {"hours":{"times","fit","limits"}}: all hours at hand, held against a prescription that need not be the unit's own.
std::string hours_on_trial_json(const UnitView& view, const core::Prescription& prescription, UtcTime now);

// The hours of a record between two instants, `to` excluded, with the quantities named by catalogue index alone.
core::UnitHours hours_between(const core::UnitHours& all, std::optional<UtcTime> from, std::optional<UtcTime> to,
                              const std::vector<std::size_t>& quantities);

}  // namespace hakea::service
