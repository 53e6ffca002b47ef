// The life of a booking in one table: which state follows which, who may say so, and whether the unit was lit by then.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "core/base/result.h"
#include "service/access/actor.h"
#include "service/http/problem.h"

namespace hakea::service {

struct BookingStep {
  std::string_view from, to;  // `from` is empty for a booking that is new; from = to changes what is said of it
  Role least;                 // may do it; roles above it too
  bool is_lit;                // from here on there is a time of lighting
};
std::span<const BookingStep> booking_steps();

// What a booking is to become. A unit or date that differs from what was booked is another place.
struct WantedStep {
  std::string_view from, to;
  Role role = Role::viewer;
  bool changes_unit = false, changes_date = false, has_lit_at = false;
};
// Why it may not, naming what may; nothing where it may.
std::optional<Problem> refused_step(const WantedStep& wanted);

}  // namespace hakea::service
