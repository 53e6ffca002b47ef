// Plans by the solver in its child, held against trying every set, and what happens when the child does not do its part.
#include "service/engine/plan_solver.h"

#include <gtest/gtest.h>
#include <stdlib.h>  // setenv

#include <algorithm>

#include "tests/support/plan_check.h"
#include "tests/support/plan_rig.h"

namespace hakea::test {
namespace {

using namespace core;

Result<ProgramAnswer> solve(const Program& program) { return service::solve_program(program); }

std::vector<UnitDate> pairs(const Proposal& proposal) {
  std::vector<UnitDate> list;
  for (const ProposedBurn& burn : proposal.burns) list.push_back({burn.unit, burn.date});
  return list;
}

// All that is said, for comparing two.
std::string text_of(const Proposal& proposal) {
  std::string text = std::to_string(proposal.value) + " of " + std::to_string(proposal.bound) + (proposal.proven ? "\n" : " open\n");
  const auto line = [&](const auto& pair) { return pair.unit + " " + std::to_string((pair.date - plan_date(0)).count()); };
  for (const ProposedBurn& burn : proposal.burns) text += line(burn) + " " + std::to_string(burn.value) + "\n";
  for (const LostPair& lost : proposal.lost) text += line(lost) + " " + std::string(word(lost.kind)) + ": " + lost.text + "\n";
  return text;
}

PlanSize small(std::uint32_t seed) {
  return {.units = 4 + static_cast<int>(seed % 3), .dates = 2 + static_cast<int>(seed % 2), .depots = 1 + static_cast<int>(seed % 3),
          .scarcity = 0.8 + 0.4 * (seed % 4)};
}

class SmallPlans : public ::testing::TestWithParam<std::uint32_t> {};

TEST_P(SmallPlans, AreWorthWhatTryingEverySetGives) {
  for (std::uint32_t seed = GetParam() * 20; seed < GetParam() * 20 + 20; ++seed) {
    PlanRig rig(small(seed).dates);
    fill_by_chance(rig, small(seed), seed);
    const auto proposal = propose(rig.question, solve);
    ASSERT_TRUE(proposal) << seed << ": " << proposal.error().what;
    EXPECT_TRUE(proposal->proven);
    EXPECT_TRUE(broken_by(rig.question, pairs(*proposal)).empty()) << seed << "\n" << text_of(*proposal);
    EXPECT_EQ(proposal->value, best_by_trying(rig.question)) << seed << "\n" << text_of(*proposal);
    EXPECT_EQ(proposal->value, value_of(rig.question, pairs(*proposal)));
    EXPECT_EQ(proposal->bound, proposal->value);
  }
}

// 200 of them.
INSTANTIATE_TEST_SUITE_P(ByChance, SmallPlans, ::testing::Range(0u, 10u));

}  // namespace
}  // namespace hakea::test
