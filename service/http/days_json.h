// Days of a unit, and what differs between two lists of them, as JSON.
#pragma once

#include <string>
#include <vector>

#include "service/engine/snapshot.h"

namespace hakea::service {

// {"unit":…,"days":[DAY…]}, in the order given.
std::string days_json(const Unit& unit, const std::vector<core::Day>& days, const core::Prescription& prescription);

// {"changed":[{"date","from","to"}…]}: the verdicts that differ, by date.
std::string changed_json(const std::vector<core::Day>& before, const std::vector<core::Day>& after);

}  // namespace hakea::service
