// The constraints of a plan once more, written straight from what they say, for a handful of burns: what the product makes
// of them by rows is held against this.
#pragma once

#include <set>
#include <vector>

#include "core/plan/plan.h"

namespace hakea::test {

// What burns on these dates would break beside what is committed; nothing when they can be held.
std::set<core::LossKind> broken_by(const core::PlanQuestion& question, const std::vector<core::UnitDate>& burns);

std::int64_t value_of(const core::PlanQuestion& question, const std::vector<core::UnitDate>& burns);

// Every set of burns tried: what the best one is worth.
std::int64_t best_by_trying(const core::PlanQuestion& question);

// A core::ProgramSolver for programs of a few variables: every choice is tried.
Result<core::ProgramAnswer> try_every_choice(const core::Program& program);

}  // namespace hakea::test
