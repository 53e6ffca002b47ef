// The only place that asks what time it is; everything else is told.
#pragma once

#include <chrono>

#include "core/base/time.h"

namespace hakea::service {

inline UtcTime clock_time() { return std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now()); }

}  // namespace hakea::service
