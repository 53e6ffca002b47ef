#include "core/days/exposed.h"

#include <algorithm>

#include "core/catalogue/catalogue.h"
#include "core/prescription/scopes.h"

namespace hakea::core {
namespace {

// What hazards hang on the moisture of the litter.
Rows hazards_of_litter(const Prescription& prescription) {
  const std::size_t litter = quantity_index("litter_moisture");
  Rows rows;
  for (const Limit& limit : prescription.limits) {
    Rows alone;
    alone.set(limit.quantity);
    if (is_hazard(limit) && with_inputs(alone).test(litter)) rows |= alone;
  }
  return rows;
}

}  // namespace

bool is_hazard(const Limit& limit) { return limit.kind == Kind::stop || (is_tail(limit) && limit.kind != Kind::preference); }

ExposedPoints::ExposedPoints(std::span<const std::vector<UnitHours>> points, const Prescription& prescription) {
  const auto is_sheltered = [](const std::vector<UnitHours>& members) { return members.front().unit->site.sheltered; };
  if (std::none_of(points.begin(), points.end(), is_sheltered)) return;
  const Rows wanted = hazards_of_litter(prescription);
  if (wanted.none()) return;
  hours_.assign(points.begin(), points.end());
  for (std::vector<UnitHours>& members : hours_) {
    if (!is_sheltered(members)) continue;
    UnitTraits& traits = *traits_.emplace_back(std::make_unique<UnitTraits>(*members.front().unit));
    traits.site.sheltered = false;
    for (UnitHours& hours : members) {
      hours.unit = &traits;
      compute_all(hours, wanted);
    }
  }
}

}  // namespace hakea::core
