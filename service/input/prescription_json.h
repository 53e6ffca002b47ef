// A prescription as people write it (INTERFACE §3), checked: what comes out is well formed, what contradicts itself or
// would be silently ignored is refused, every mistake with its pointer.
#pragma once

#include "core/prescription/prescription.h"
#include "service/input/json.h"

namespace hakea::service {

// Mistakes are added to `mistakes`, with pointers below `pointer`; the prescription is of use only when there are none.
core::Prescription read_prescription(const json::value& value, const std::string& pointer, Errors& mistakes);

// One prescription as a document of its own; pointers such as /limits/8/acceptable/min.
Result<core::Prescription> parse_prescription(std::string_view text, const std::string& name_for_messages = "prescription");

}  // namespace hakea::service
