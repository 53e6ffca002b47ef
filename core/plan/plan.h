// The district plan: the best set of (unit, date) that crews, tankers, aircraft, plant, airsheds, neighbours, order and the
// readiness floor allow beside what is already committed, and for each pair left out the reason. A plan is a proposal.
//
// Pure. The choice is an integer program (program.h) that the caller has solved by whatever solver it hands in; every
// constraint is written once (rules.h), as rows that the program keeps and that the reasons are read from.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/result.h"
#include "core/catalogue/unit_hours.h"
#include "core/days/day.h"
#include "core/days/evaluate.h"
#include "core/plan/means.h"
#include "core/plan/program.h"

namespace hakea::core {

// A unit with the days that it may be burnt on. What it points to must outlive the question.
struct PlannedUnit {
  std::string id, name;
  const TimeZone* zone = nullptr;
  const UnitPlan* plan = nullptr;  // priority, after, adjacent, and what was lit; the rest has been judged in the days
  Needs needs;
  std::optional<double> area_ha;  // unknown: more than any cap
  std::string airshed;            // empty: none
  double rarity = 0.5;            // 1 - met days a year / 366
  int consecutive_days = 1;
  std::vector<const Day*> days;  // in any order; those outside the dates of the question are left aside. May be empty
};

struct UnitDate {
  std::string unit;
  LocalDate date{};
  auto operator<=>(const UnitDate&) const = default;
};

// A burn that people have committed (booking state `committed`) or that is open (`lit mop_up patrol`). It takes what its
// unit needs, whatever else is proposed, and is no part of the proposal. An open burn that is not closed when its patrol days
// are over takes its patrol crews on every date.
struct Commitment {
  std::string unit;  // one of the question's
  LocalDate date{};  // the first burn day; of an open burn the local date it was lit on
  bool is_open = false;
};

struct PlanQuestion {
  UtcTime now{};
  LocalDate from{}, to{};  // dates that burns may begin on, both included
  Means means;
  std::vector<PlannedUnit> units;  // ids are unique
  std::vector<Commitment> commitments;
  std::vector<UnitDate> with, without;  // pairs that somebody wants in the proposal, or out of it
};

// Why a pair is not in the proposal: the first of these that holds, or that adding it to the proposal would break. What has
// been judged of the pair alone comes first.
enum class LossKind : std::uint8_t {
  verdict,   // the weather does not meet the prescription, or nobody knows
  blocked,   // people or rules forbid it; an unconfirmed prescription counts as such
  notice,    // its deadline has passed
  left_out,  // somebody wants it out
  crews,     // on a burn day or for patrol, as many as can be there in time
  tankers,
  aircraft,
  airshed,    // burns or hectares a day
  adjacency,  // a neighbour was lit within twelve months, is committed or is proposed
  order,      // the unit that goes before is not lit long enough before
  readiness,  // crews that stay free
  plant,
  displaced,  // the unit is committed or proposed on another date
};
std::string_view word(LossKind kind);

struct ProposedBurn {
  std::string unit;
  LocalDate date{};
  Window window;  // the best-fitting one that crews reach in time
  Needs needs;
  std::int64_t value = 0;
};

struct LostPair {
  std::string unit;
  LocalDate date{};
  LossKind kind = LossKind::verdict;
  std::string text;  // one sentence
};

struct Proposal {
  std::vector<ProposedBurn> burns;    // by date, then unit id
  std::vector<LostPair> lost;         // by date, then unit id; committed pairs are neither here nor there
  std::int64_t value = 0, bound = 0;  // of the proposal, and what none can exceed
  bool proven = false;                // that none is worth more: bound == value
};

// The worth of a burn: priority x fit x rarity in ten thousandths, where priority 1 counts 5 and priority 5 counts 1. At
// least 1: a burn that can be had is never left for nothing. Our own default.
std::int64_t burn_value(int priority, double fit, double rarity);

// The proposal of most value; of equals the one with earlier dates, then earlier ids. The same question gives the same
// proposal, in whichever order its lists are.
// Errors: `unknown_unit`, `unknown_pair` (in `with`, `without`, commitments), `cannot_hold` (a pair of `with` breaks what it
// must not; the reason in words), and what the solver says.
Result<Proposal> propose(const PlanQuestion& question, const ProgramSolver& solver);

}  // namespace hakea::core
