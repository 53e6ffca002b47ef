#include "service/http/booking_steps.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <string>
#include <vector>

namespace hakea::service {
namespace {

constexpr Role kDuty = Role::officer, kDecide = Role::coordinator;

// What is planned is the coordinator's to decide; that a unit was stood down, lit or is being looked after is what whoever
// is on duty saw. That a burn is safe is the coordinator's again.
constexpr std::array kSteps{
    BookingStep{"", "draft", kDuty, false},
    BookingStep{"", "committed", kDecide, false},
    // Burns that were lit before they were entered here.
    BookingStep{"", "lit", kDecide, true},
    BookingStep{"", "mop_up", kDecide, true},
    BookingStep{"", "patrol", kDecide, true},
    BookingStep{"", "closed", kDecide, true},

    BookingStep{"draft", "draft", kDuty, false},
    BookingStep{"draft", "committed", kDecide, false},
    BookingStep{"draft", "stood_down", kDuty, false},

    BookingStep{"committed", "committed", kDuty, false},
    BookingStep{"committed", "draft", kDecide, false},
    BookingStep{"committed", "stood_down", kDuty, false},
    BookingStep{"committed", "lit", kDuty, true},

    BookingStep{"stood_down", "stood_down", kDuty, false},
    BookingStep{"stood_down", "draft", kDuty, false},

    BookingStep{"lit", "lit", kDuty, true},
    BookingStep{"lit", "mop_up", kDuty, true},
    BookingStep{"lit", "patrol", kDuty, true},
    BookingStep{"lit", "closed", kDecide, true},

    BookingStep{"mop_up", "mop_up", kDuty, true},
    BookingStep{"mop_up", "lit", kDuty, true},
    BookingStep{"mop_up", "patrol", kDuty, true},
    BookingStep{"mop_up", "closed", kDecide, true},

    BookingStep{"patrol", "patrol", kDuty, true},
    BookingStep{"patrol", "lit", kDuty, true},
    BookingStep{"patrol", "mop_up", kDuty, true},
    BookingStep{"patrol", "closed", kDecide, true},

    BookingStep{"closed", "closed", kDecide, true},
    // Logs kindle again weeks later.
    BookingStep{"closed", "mop_up", kDuty, true},
    BookingStep{"closed", "patrol", kDuty, true},
};

const BookingStep* step_of(std::string_view from, std::string_view to) {
  const auto found =
      std::find_if(kSteps.begin(), kSteps.end(), [&](const BookingStep& step) { return step.from == from && step.to == to; });
  return found == kSteps.end() ? nullptr : &*found;
}

Problem conflict(std::string code, std::string where, const std::string& what, std::string hint) {
  Error error{ErrorKind::invalid, std::move(code), std::move(where), what, std::move(hint)};
  return {409, "state_conflict", "The booking does not stand so", what + "; " + error.hint, {error}};
}

Problem not_allowed(std::string_view from, std::string_view to) {
  std::vector<std::string_view> allowed;
  for (const BookingStep& step : kSteps)
    if (step.from == from && step.to != from) allowed.push_back(step.to);
  const std::string what = from.empty() ? fmt::format("a new booking cannot be {}", to)
                                        : fmt::format("a booking that is {} cannot become {}", from, to);
  return conflict("not_allowed", "/state", what, fmt::format("it may become {}", fmt::join(allowed, ", ")));
}

}  // namespace

std::span<const BookingStep> booking_steps() { return kSteps; }

std::optional<Problem> refused_step(const WantedStep& wanted) {
  const BookingStep* step = step_of(wanted.from, wanted.to);
  if (!step) return not_allowed(wanted.from, wanted.to);
  const bool is_elsewhere = wanted.changes_unit || wanted.changes_date;
  if (const BookingStep* stood = step_of(wanted.from, wanted.from); stood && stood->is_lit && is_elsewhere)
    return conflict("fixed", wanted.changes_unit ? "/unit" : "/date",
                    fmt::format("what was {} stays where and when it was", wanted.from == "closed" ? "burnt" : "lit"),
                    "make another booking for another unit or date");
  // Another unit or date of what is committed is a commitment anew.
  const Role least = is_elsewhere && wanted.to == "committed" ? kDecide : step->least;
  if (wanted.role < least) {
    const std::string what = wanted.from == wanted.to ? fmt::format("moving a booking that is {}", wanted.to)
                             : wanted.from.empty()    ? fmt::format("a booking that is {} from the start", wanted.to)
                                                      : fmt::format("{} to {}", wanted.from, wanted.to);
    return Problem{
        403,
        "role",
        "Your role may not do this",
        fmt::format("{} takes a {}; an officer may propose drafts and say what happened to what is committed", what, word(least)),
        {}};
  }
  if (step->is_lit && !wanted.has_lit_at)
    return mistakes_of_body({{ErrorKind::invalid, "required", "/lit_at",
                              fmt::format("a booking that is {} was lit, and lit_at does not say when", wanted.to),
                              "write when it was lit, with its offset, such as 2027-04-02T10:15:00+11:00"}});
  if (!step->is_lit && wanted.has_lit_at)
    return mistakes_of_body(
        {{ErrorKind::invalid, "not_lit", "/lit_at", fmt::format("a booking that is {} has not been lit", wanted.to),
          "leave lit_at out, or write a state from lit on"}});
  return std::nullopt;
}

}  // namespace hakea::service
