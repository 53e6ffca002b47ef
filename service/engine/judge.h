// From a unit's weather record and what people decided to its days. Pure: the same record, unit, plan and time give the
// same days, whether for the published picture or for a trial.
#pragma once

#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/days/evaluate.h"
#include "service/engine/weather_record.h"

namespace hakea::service {

// The hours of a unit by point and member.
using Points = std::vector<std::vector<core::UnitHours>>;

// The hours with every wanted row computed.
Points computed(Points points, const core::Rows& wanted = core::Rows().set());

// Best first, each with the verdicts of the feeds that cover it. `unit` has the prescription that is asked about.
std::vector<core::Day> judged_days(const UnitWeatherRecord& record, const Unit& unit, const core::UnitPlan& plan, UtcTime now);

}  // namespace hakea::service
