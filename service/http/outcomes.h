// What became of a burn, and what that makes of its unit: its status, and how long ago its fuel burnt.
#pragma once

#include <optional>
#include <string>

#include "service/input/json.h"
#include "service/store/store.h"

namespace hakea::service {

struct Outcome {
  std::string unit;
  LocalDate date{};
  std::string result;  // treated part_burnt not_lit escaped
  std::optional<double> treated_ha;
};
// From an entry's body.
Outcome outcome_in(const json::value& body);

// The change of the unit's entry that an outcome brings; nothing where it leaves the unit as it stands, or the unit has burnt
// since. What was treated is `treated`, its fuel counted from the outcome's date, its load and hazard scores, which were those
// of the fuel that burnt, forgotten. What burnt in part is `part_burnt`: the rest, which is what will be lit next, is as old
// as before. After an escape a unit is `not_ready` until somebody says otherwise.
Result<std::optional<Change>> effect_on_unit(Store& store, const Outcome& outcome);

// The same for a burn that was lit on a date and is over: by all outcomes entered for it, in the order of their dates.
Result<std::optional<Change>> effect_of_closing(Store& store, const std::string& unit, LocalDate lit_on);

// The change of the unit's entry that it brings to correct the outcome of an id: what outcomes made of the unit since is taken
// back, and made anew by the outcomes as they are now. What people entered of it since stays. `open_since`: the date on which
// what still burns was lit, whose outcomes wait but for `part_burnt`.
Result<std::optional<Change>> effect_of_correcting(Store& store, const std::string& id, const Outcome& now,
                                                   std::optional<LocalDate> open_since);

}  // namespace hakea::service
