// The constraints of the plan, each written once. A rule is a row over the pairs of the book: the program keeps it, and a
// pair is lost by the first rule that it would break.
#pragma once

#include <string>
#include <vector>

#include "core/plan/book.h"

namespace hakea::core {

struct Rule {
  LossKind kind = LossKind::crews;
  ProgramRow row;  // by place in Book::pairs; what is committed has been taken off its right side
  // Between units: what a unit has on another date is not held against it; the last rules do that.
  bool is_between_units = false;
  // For the words.
  LocalDate date{};                                           // of what a day has
  std::string of;                                             // a depot's, an airshed's name, the unit that goes before, …
  bool is_area = false;                                       // of an airshed: hectares, else burns
  std::int64_t whole = 0;                                     // with what is committed
  std::vector<std::pair<std::size_t, std::int64_t>> already;  // what commitments take: place in Book::commitments, how much
};

// In the order of LossKind; within a kind by date, then as the book has them. A right side is never less than what keeps a
// proposal of nothing possible: where commitments alone break a rule, what would add to it is forbidden.
std::vector<Rule> rules_of(const Book& book);

// Hectares in rows are hundredths, of a burn rounded up.
inline constexpr std::int64_t kAreaParts = 100;

// Why a pair breaks a rule beside the pairs that are chosen (0 or 1 by pair), in one sentence.
std::string why_broken(const Book& book, const Rule& rule, std::size_t pair, const std::vector<std::uint8_t>& chosen);

}  // namespace hakea::core
