// What people and rules forbid on a date, whatever the weather (INTERFACE §3 `blocked_by`).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/days/evaluate.h"
#include "core/prescription/unit_clock.h"

namespace hakea::core {

// In the order declared_ban closed season weekday event not_ready notice after adjacent stop.
std::vector<Blocked> blocked_by(const UnitTraits& unit, const Prescription& prescription, const UnitPlan& plan,
                                const DateHours& date, const UnitClock& clock, UtcTime now);

// The same over all consecutive dates: blocked on one is blocked. A kind is named for the first date it blocks.
std::vector<Blocked> blocked_on_any(const UnitTraits& unit, const Prescription& prescription, const UnitPlan& plan,
                                    LocalDate first, const UnitClock& clock, UtcTime now);

// The latest date, not after `by`, that a unit named in `after` or `adjacent` was lit on.
std::optional<LocalDate> last_lit(const UnitPlan& plan, const std::string& unit, LocalDate by);

}  // namespace hakea::core
