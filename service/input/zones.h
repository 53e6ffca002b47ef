// Time zones by their IANA name, from the system's zone database.
#pragma once

#include <string>

#include "core/base/result.h"
#include "core/base/zone.h"

namespace hakea::service {

// The offsets of a zone from 1970 to 2100 (as far as the system's tables reach; after that the last offset stands). Kept
// by name, safe to call from any thread. Error: `unknown_time_zone`, with the nearest known name.
Result<TimeZone> time_zone(const std::string& name);

}  // namespace hakea::service
