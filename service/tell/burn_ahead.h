// What is coming to an open burn, as booking answers and the digest tell it.
#pragma once

#include <string>
#include <vector>

#include "core/days/open_burn.h"
#include "service/engine/snapshot.h"

namespace hakea::service {

// By local date for a week from `now`; nothing is known where the unit has no weather yet.
std::vector<core::BurnDay> burn_days_of(const UnitView& view, UtcTime now);

// {"look_ahead":{"worst":{…},"days":[{…}]}}: of the week and of each date calculated FFDI, gust, humidity and wind change at
// their worst with their hours, rain, hours missing, and the tail limits.
std::string look_ahead_json(const UnitView& view, const std::vector<core::BurnDay>& days);

// What the worst hours of 72 do not say, a phrase each: the tail limit that fails first, the wind change in most wind, the rain
// that is expected. Empty where nothing is known.
std::vector<std::string> burn_week_words(const UnitView& view, const std::vector<core::BurnDay>& days);

}  // namespace hakea::service
