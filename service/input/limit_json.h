// One line of a prescription as people write it, and limits that cannot be kept together.
#pragma once

#include "core/prescription/prescription.h"
#include "service/input/json.h"

namespace hakea::service {

// The quantity is one past the end of the catalogue when its key was not understood.
core::Limit read_limit(const json::value& value, const std::string& pointer, Errors& mistakes);

// Limits of one quantity whose ranges or sectors have nothing in common although both must hold.
void refuse_contradictions(const std::vector<core::Limit>& limits, const std::string& pointer, Errors& mistakes);

}  // namespace hakea::service
