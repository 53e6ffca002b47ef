// Plans by the solver in its child, held against trying every set, and what happens when the child does not do its part.
#include "service/engine/plan_solver.h"

#include <gtest/gtest.h>
#include <stdlib.h>  // setenv

#include <algorithm>
#include <random>
#include <set>
#include <string_view>

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
  std::string text =
      std::to_string(proposal.value) + " of " + std::to_string(proposal.bound) + (proposal.proven ? "\n" : " open\n");
  const auto line = [&](const auto& pair) { return pair.unit + " " + std::to_string((pair.date - plan_date(0)).count()); };
  for (const ProposedBurn& burn : proposal.burns) text += line(burn) + " " + std::to_string(burn.value) + "\n";
  for (const LostPair& lost : proposal.lost) text += line(lost) + " " + std::string(word(lost.kind)) + ": " + lost.text + "\n";
  return text;
}

PlanSize small(std::uint32_t seed) {
  return {.units = 4 + static_cast<int>(seed % 3),
          .dates = 2 + static_cast<int>(seed % 2),
          .depots = 1 + static_cast<int>(seed % 3),
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

// Some with more to choose from than can be tried.
constexpr std::uint32_t kLargerPlans = 5;

struct LargerPlan : PlanRig {
  explicit LargerPlan(std::uint32_t seed) : PlanRig(5) {
    fill_by_chance(*this, {.units = 14, .dates = 5, .depots = 3, .scarcity = seed % 2 ? 2.0 : 0.7}, seed);
  }
  Proposal proposal() const {
    auto made = propose(question, solve);
    HAKEA_EXPECT(made);
    return *std::move(made);
  }
};

TEST(LargerPlans, AreWorthNoMoreWithALostPairInOrAProposedBurnOut) {
  std::mt19937 chance(7);
  int tried_in = 0, tried_out = 0, held = 0;
  for (std::uint32_t seed = 0; seed < kLargerPlans; ++seed) {
    LargerPlan rig(seed);
    const Proposal best = rig.proposal();
    ASSERT_TRUE(best.proven);
    std::vector<UnitDate> lost;
    for (const LostPair& pair : best.lost)
      if (pair.kind > LossKind::left_out) lost.push_back({pair.unit, pair.date});
    for (int n = 0; n < 10 && !lost.empty(); ++n, ++tried_in) {
      const std::size_t at = chance() % lost.size();
      rig.question.with = {lost[at]};
      const auto forced = propose(rig.question, solve);
      if (forced) {
        EXPECT_LE(forced->value, best.value) << seed << " with " << lost[at].unit;
        const auto burns = pairs(*forced);
        EXPECT_NE(std::find(burns.begin(), burns.end(), lost[at]), burns.end());
        ++held;
      } else {
        EXPECT_EQ(forced.error().code, "cannot_hold") << forced.error().what;
      }
      lost.erase(lost.begin() + static_cast<std::ptrdiff_t>(at));
    }
    rig.question.with.clear();
    for (const ProposedBurn& burn : best.burns) {
      rig.question.without = {{burn.unit, burn.date}};
      const Proposal forced = rig.proposal();
      EXPECT_LE(forced.value, best.value) << seed << " without " << burn.unit;
      ++tried_out;
    }
  }
  EXPECT_EQ(tried_in, 50);
  EXPECT_GT(tried_out, 20);
  EXPECT_GT(held, 10);  // the others cannot be had at all
}

TEST(LargerPlans, ALostPairBreaksWhatIsNamedForItAndNothingBeforeThat) {
  std::set<LossKind> seen;
  const auto check = [&](const PlanRig& rig, const std::string& which) {
    const auto proposal = propose(rig.question, solve);
    ASSERT_TRUE(proposal);
    for (const LostPair& pair : proposal->lost) {
      std::vector<UnitDate> with = pairs(*proposal);
      with.push_back({pair.unit, pair.date});
      const std::set<LossKind> broken = broken_by(rig.question, with);
      ASSERT_FALSE(broken.empty()) << which << " " << pair.unit << ": " << pair.text;
      EXPECT_EQ(word(*broken.begin()), word(pair.kind)) << which << " " << pair.unit << ": " << pair.text << "\n"
                                                        << text_of(*proposal);
      EXPECT_FALSE(pair.text.empty());
      seen.insert(pair.kind);
    }
  };
  for (std::uint32_t seed = 0; seed < kLargerPlans; ++seed) check(LargerPlan(seed), "larger " + std::to_string(seed));
  for (std::uint32_t seed = 1000; seed < 1020; ++seed) {
    PlanRig rig(small(seed).dates);
    fill_by_chance(rig, small(seed), seed);
    check(rig, "small " + std::to_string(seed));
  }
  // Chance leaves no kind out but what nobody asked for.
  for (int kind = 0; kind <= static_cast<int>(LossKind::displaced); ++kind)
    EXPECT_EQ(seen.contains(static_cast<LossKind>(kind)), kind != static_cast<int>(LossKind::left_out)) << kind;
}

TEST(LargerPlans, AreTheSameTwiceAndInWhateverOrderTheQuestionIs) {
  for (std::uint32_t seed = 0; seed < kLargerPlans; ++seed) {
    LargerPlan rig(seed);
    const std::string first = text_of(rig.proposal());
    EXPECT_EQ(first, text_of(rig.proposal())) << seed;
    rig.shuffle(seed + 1);
    EXPECT_EQ(first, text_of(rig.proposal())) << seed;
  }
}

TEST(PlanSolver, GivesTheBestFoundAndABoundWhenItsNodesAreUsedUp) {
  int unproven = 0;
  for (std::uint32_t seed = 0; seed < 6; ++seed) {
    PlanRig rig(10);
    fill_by_chance(rig, {.units = 50, .dates = 10, .depots = 3, .scarcity = 4}, seed);
    const auto best = propose(rig.question, solve);
    const auto first = propose(rig.question, [](Program program) {
      program.node_limit = 1;
      return service::solve_program(program);
    });
    ASSERT_TRUE(best && first) << seed;
    ASSERT_TRUE(best->proven) << seed;
    EXPECT_LE(first->value, best->value) << seed;
    EXPECT_GE(first->bound, best->value) << seed;
    EXPECT_LT(first->bound, best->value + best->value / 10) << seed;
    EXPECT_TRUE(broken_by(rig.question, pairs(*first)).empty()) << seed;
    unproven += !first->proven;
  }
  EXPECT_GT(unproven, 1);
}

TEST(PlanSolver, SaysThatNothingIsPossible) {
  Program program;
  program.values = {1, 1};
  program.rows = {{{{0, -1}, {1, -1}}, -2}, {{{0, 1}, {1, 1}}, 1}};
  program.node_limit = 100;
  const auto answer = solve(program);
  ASSERT_TRUE(answer);
  EXPECT_FALSE(answer->is_possible);
}

// What the child does instead of its part, and what is said of it.
struct Misdeed {
  const char* what;
  const char* said;
};

class WrongChild : public ::testing::TestWithParam<Misdeed> {
 protected:
  ~WrongChild() override { ::unsetenv("HAKEA_TEST_SOLVER"); }
};

TEST_P(WrongChild, IsAnErrorAndHarmsNobody) {
  const LargerPlan rig(1);
  ::setenv("HAKEA_TEST_SOLVER", GetParam().what, 1);
  // A sanitizer takes its time to tell of a crash; the one that says nothing is waited for in vain.
  const int seconds = std::string_view(GetParam().what) == "hangs" ? 1 : 60;
  const auto proposal =
      propose(rig.question, [&](const Program& program) { return service::solve_program(program, {.seconds = seconds}); });
  ASSERT_FALSE(proposal);
  EXPECT_EQ(proposal.error().code, "solver_ended");
  EXPECT_EQ(proposal.error().what, GetParam().said);
  ::unsetenv("HAKEA_TEST_SOLVER");
  EXPECT_TRUE(rig.proposal().proven);
}

INSTANTIATE_TEST_SUITE_P(OneWayAndTheOther, WrongChild,
                         ::testing::Values(Misdeed{"ends", "the solver ended with status 9"},
                                           Misdeed{"crashes", "the solver crashed (Segmentation fault)"},
                                           Misdeed{"is killed", "the solver crashed (Killed)"},
                                           Misdeed{"hangs", "the solver gave no sign of life for 1 s"},
                                           Misdeed{"babbles", "the solver sent what makes no sense"}));

}  // namespace
}  // namespace hakea::test
