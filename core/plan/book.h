// A question of the plan, put in order: what has been judged of each pair alone, and what is left to choose from.
#pragma once

#include <bitset>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/plan/plan.h"

namespace hakea::core {

inline constexpr std::size_t kMostDepots = 64;
using Depots = std::bitset<kMostDepots>;  // a set of them, by their place in the list

// A pair that nothing speaks against by itself.
struct PossibleBurn {
  std::size_t unit = 0;  // in Book::units
  LocalDate date{};
  const Window* window = nullptr;
  std::int64_t value = 0;
  Depots reach;  // whose crews, tankers and plant can be there in time
};

struct Committed {
  std::size_t unit = 0;
  LocalDate date{};
  bool is_open = false;
};

struct Book {
  const PlanQuestion* question = nullptr;
  std::vector<const PlannedUnit*> units;  // by id
  std::vector<Depot> depots;              // by id
  std::vector<Committed> commitments;     // by unit, then date
  std::vector<PossibleBurn> pairs;        // by date, then unit id
  std::vector<LostPair> barred;           // the others
  std::vector<std::size_t> with;          // pairs that somebody wants

  const PlannedUnit& unit_of(const PossibleBurn& pair) const { return *units[pair.unit]; }
  Depots all_depots() const;
};

// When what a depot sends can light, at the earliest. From another depot it goes by way of the unit's own. None where nobody
// knows how far that is.
std::optional<UtcTime> earliest_light_up(const Book& book, const PlannedUnit& unit, LocalDate date, const Depot& from);

// The errors of propose() that lie in the question.
Result<Book> put_in_order(const PlanQuestion& question);

// Days on which a burn that begins on a date takes crews, and the dates after them on which it is patrolled.
struct BurnDates {
  LocalDate first{}, last_burn{}, last_patrol{};
  bool burns_on(LocalDate date) const { return first <= date && date <= last_burn; }
  bool is_patrolled_on(LocalDate date) const { return last_burn < date && date <= last_patrol; }
};
BurnDates burn_dates(const PlannedUnit& unit, LocalDate first);
// An open burn that should be over and is not closed is patrolled without end.
BurnDates burn_dates(const Book& book, const Committed& commitment);

}  // namespace hakea::core
