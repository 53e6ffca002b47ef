// What is coming to an open burn: the worst hours of the next three days, and the first dangerous hour of the week.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "core/days/open_burn.h"

namespace hakea::service {

using core::WorstHour;

struct LookAhead {
  std::optional<WorstHour> ffdi, gust, humidity;  // the worst of the next 72 hours; none where every hour is missing
  int missing_hours = 0;                          // of the next 72 in which one of the three is missing
  // The first hour of the next seven days that is dangerous to an open burn, and by what ("calculated FFDI 45").
  std::optional<UtcHour> danger_at;
  std::string danger;
  std::optional<WorstHour> week_ffdi;  // the highest of the next seven days
};

// What makes an hour dangerous to a burn that is alight ("gust 55 km/h"), empty for nothing; a missing value is no danger seen.
std::string danger_in(const core::UnitHours& hours, std::size_t i);

// points[point][member], computed; the worst of all of them counts.
LookAhead look_ahead(const std::vector<std::vector<core::UnitHours>>& points, UtcTime now);

}  // namespace hakea::service
