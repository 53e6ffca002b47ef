// The rules of the plan one by one, on questions small enough to see the answer.
#include "core/plan/plan.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "tests/support/plan_check.h"
#include "tests/support/plan_rig.h"

namespace hakea::test {
namespace {

using namespace core;

std::string name(const std::string& unit, LocalDate date) { return unit + "@" + std::to_string((date - plan_date(0)).count()); }

// What is proposed: "a@0 b@1", by date.
std::string burns(const PlanRig& rig) {
  const auto proposal = propose(rig.question, try_every_choice);
  if (!proposal) return "error " + proposal.error().code + ": " + proposal.error().what;
  std::string text;
  for (const ProposedBurn& burn : proposal->burns) text += (text.empty() ? "" : " ") + name(burn.unit, burn.date);
  return text;
}

// Why a pair is lost: "crews: 1 crew needed on …"; empty where it is not.
std::string lost(const PlanRig& rig, const std::string& unit, int date) {
  const auto proposal = propose(rig.question, try_every_choice);
  if (!proposal) return "error " + proposal.error().code;
  for (const LostPair& pair : proposal->lost)
    if (pair.unit == unit && pair.date == plan_date(date)) return std::string(word(pair.kind)) + ": " + pair.text;
  return "";
}

// A depot with some crews, every date quiet.
struct Plan : ::testing::Test, PlanRig {
  Plan() {
    depot("home", 2);
    quiet();
  }
  // A unit met on some dates, each from its fit.
  void offer(const std::string& id, const std::vector<std::pair<int, double>>& days) {
    unit(id);
    for (const auto& [date, fit] : days) met(id, date, fit);
  }
};

TEST_F(Plan, TakesWhatFits) {
  offer("a", {{0, 1}});
  offer("b", {{0, 0.9}});
  EXPECT_EQ(burns(*this), "a@0 b@0");
}

TEST_F(Plan, IsEmptyWithoutAnythingToChooseFrom) {
  EXPECT_EQ(burns(*this), "");
  unit("a");
  EXPECT_EQ(burns(*this), "");
  EXPECT_TRUE(propose(question, try_every_choice)->proven);
}

TEST_F(Plan, PutsWorthBeforeNumber) {
  offer("a", {{0, 0.4}});
  offer("b", {{0, 0.4}});
  offer("c", {{0, 0.9}});
  find("c").needs.crews = 2;
  EXPECT_EQ(burns(*this), "c@0");
  EXPECT_EQ(lost(*this, "a", 0), "crews: 1 crew needed on Thursday 1 April, 0 of 2 left (Unit c 2)");
}

TEST(BurnValue, IsPriorityTimesFitTimesRarity) {
  EXPECT_EQ(burn_value(1, 1, 1), 50'000);
  EXPECT_EQ(burn_value(5, 1, 1), 10'000);
  EXPECT_EQ(burn_value(3, 0.8, 0.5), 12'000);
  EXPECT_EQ(burn_value(3, 0, 0.5), 1);  // still worth more than nothing
}

TEST_F(Plan, SaysWhatWasJudgedOfThePairAlone) {
  question.means.depots.clear();  // crews are no better
  offer("a", {});
  Day& out = met("a", 0);
  out.verdict = Verdict::blocked;
  out.weather = Verdict::near_miss;
  out.why = "too dry";
  out.blocked_by.push_back({.kind = "closed", .why = "harvest", .until = {}});
  Day& blocked = met("a", 1);
  blocked.verdict = Verdict::blocked;
  blocked.blocked_by = {{.kind = "notice", .why = "notice was due", .until = {}},
                        {.kind = "event", .why = "festival", .until = {}}};
  Day& late = met("a", 2);
  late.verdict = Verdict::blocked;
  late.blocked_by = {{.kind = "notice", .why = "notice was due", .until = {}}};
  EXPECT_EQ(burns(*this), "");
  EXPECT_EQ(lost(*this, "a", 0), "verdict: near miss: too dry");
  EXPECT_EQ(lost(*this, "a", 1), "blocked: festival");
  EXPECT_EQ(lost(*this, "a", 2), "notice: notice was due");
}

TEST_F(Plan, ProposesNothingByAnUnconfirmedPrescription) {
  unit("a");
  met("a", 0).draft = true;
  EXPECT_EQ(lost(*this, "a", 0), "blocked: its prescription has not been confirmed");
}

TEST_F(Plan, NeverProposesTheUnknown) {
  unit("a");
  Day& day = met("a", 0);
  day.verdict = day.weather = Verdict::unknown;
  day.windows.front().unconfirmed = true;
  EXPECT_EQ(lost(*this, "a", 0), "verdict: unknown");
  day.verdict = day.weather = Verdict::met;
  EXPECT_EQ(lost(*this, "a", 0), "verdict: no window of it is certain");
}

TEST_F(Plan, BurnsAUnitOnce) {
  offer("a", {{0, 0.8}, {1, 0.9}});
  EXPECT_EQ(burns(*this), "a@1");
  EXPECT_EQ(lost(*this, "a", 0), "displaced: would displace its burn proposed on Friday 2 April");
}

TEST_F(Plan, OfEqualsTakesTheEarlierDateThenTheEarlierId) {
  question.means.depots[0].crews = 1;
  offer("b", {{0, 1}, {1, 1}});
  offer("a", {{0, 1}, {1, 1}});
  EXPECT_EQ(burns(*this), "a@0 b@1");
  find("b").days.pop_back();
  EXPECT_EQ(burns(*this), "b@0 a@1");
  find("a").days.clear();
  met("a", 0);
  EXPECT_EQ(burns(*this), "a@0");
  question.units[1].days.clear();
  met("a", 2);
  met("a", 1);
  find("b").days.clear();
  EXPECT_EQ(burns(*this), "a@1");
}

TEST_F(Plan, PatrolsOnTheDatesAfter) {
  offer("a", {{0, 1}});
  find("a").needs.patrol_crews = 1;
  find("a").needs.patrol_days = 1;
  offer("b", {{1, 0.5}, {2, 0.4}});
  find("b").needs.crews = 2;
  EXPECT_EQ(burns(*this), "a@0 b@2");
  EXPECT_EQ(lost(*this, "b", 1), "crews: 2 crews needed on Friday 2 April, 1 of 2 left (Unit a 1)");
}

TEST_F(Plan, IsNotBegunWhereNobodyCanPatrolAfterwards) {
  offer("a", {{0, 0.5}});
  find("a").needs.patrol_crews = 1;
  find("a").needs.patrol_days = 1;
  offer("b", {{1, 1}});
  find("b").needs.crews = 2;
  EXPECT_EQ(burns(*this), "b@1");
  EXPECT_EQ(lost(*this, "a", 0), "crews: 1 crew needed on Friday 2 April for patrol, 0 of 2 left (Unit b 2)");
}

TEST_F(Plan, PatrolsBeyondItsLastDate) {
  offer("a", {{2, 1}});
  offer("b", {{2, 0.9}});
  for (const char* id : {"a", "b"}) {
    find(id).needs.patrol_crews = 2;
    find(id).needs.patrol_days = 1;
  }
  EXPECT_EQ(burns(*this), "a@2");
}

TEST_F(Plan, BurnsOfSeveralDaysTakeTheirCrewsOnEach) {
  offer("a", {{0, 1}});
  find("a").consecutive_days = 2;
  find("a").needs.crews = 2;
  offer("b", {{1, 0.5}, {2, 0.4}});
  EXPECT_EQ(burns(*this), "a@0 b@2");
}

TEST_F(Plan, TankersPlantAndAircraftAreCountedToo) {
  question.means.depots[0].tankers = 1;
  question.means.depots[0].plant = 0;
  offer("a", {{0, 1}});
  find("a").needs.tankers = 1;
  offer("b", {{0, 0.5}});
  find("b").needs.tankers = 1;
  offer("c", {{0, 0.5}});
  find("c").needs.plant = 1;
  offer("d", {{0, 0.5}});
  find("d").needs.aircraft = 1;
  EXPECT_EQ(burns(*this), "a@0");
  question.means.depots[0].crews = 9;
  EXPECT_EQ(lost(*this, "b", 0), "tankers: 1 tanker needed on Thursday 1 April, 0 of 1 left (Unit a 1)");
  EXPECT_EQ(lost(*this, "c", 0), "plant: 1 machine needed on Thursday 1 April, 0 of 0 left");
  EXPECT_EQ(lost(*this, "d", 0), "aircraft: 1 aircraft needed on Thursday 1 April, 0 of 0 left");
  question.means.aircraft = 1;
  EXPECT_EQ(burns(*this), "a@0 d@0");
}

// Depots 90 km apart, an hour and a half; the unit is an hour from its own, and briefing takes another.
struct LendingPlan : Plan {
  LendingPlan() {
    question.means.depots[0].crews = 1;
    question.means.depots[0].place = {-37, 150};
    depot("away", 5);
    question.means.depots[1].place = {-37 + 90 / 111.195, 150};
    unit("a").needs = {.crews = 2, .depot = "home", .travel_h = 1};
  }
};

TEST_F(LendingPlan, LendsWhatCanBeThereInTime) {
  met("a", 0, 1, 11);  // 07:00 and 3.5 hours
  EXPECT_EQ(burns(*this), "a@0");
}

TEST_F(LendingPlan, DoesNotLendWhatComesTooLate) {
  met("a", 0, 1, 10);
  EXPECT_EQ(lost(*this, "a", 0),
            "crews: 2 crews needed on Thursday 1 April, 1 of 1 left that can be there in time from Depot home");
}

TEST_F(LendingPlan, DoesNotLendOverADistanceThatNobodyKnows) {
  met("a", 0, 1, 20);
  question.means.depots[1].place.reset();
  EXPECT_EQ(burns(*this), "");
}

TEST_F(LendingPlan, CountsFromNowOnADayThatHasBegun) {
  met("a", 0, 1, 11);
  question.now = plan_time(0, 9, 1);
  EXPECT_EQ(lost(*this, "a", 0), "crews: none of the crews can be there by 11:00, the latest to light up");
}

TEST_F(LendingPlan, TwoBurnsDoNotShareTheOnlyCrewNearBy) {
  find("a").needs.crews = 1;
  met("a", 0, 1, 10);
  unit("b").needs = {.crews = 1, .depot = "home", .travel_h = 1};
  met("b", 0, 0.9, 10);
  EXPECT_EQ(burns(*this), "a@0");
  // One that has the time leaves it to the other.
  met("b", 0, 0.9, 12);
  find("b").days.erase(find("b").days.begin());
  EXPECT_EQ(burns(*this), "a@0 b@0");
}

TEST_F(LendingPlan, TakesTheWindowThatItsOwnDepotReaches) {
  Day& day = met("a", 0, 1, 8);  // too early for anybody
  Window later = day.windows.front();
  later.latest_light_up = plan_time(0, 13);
  later.fit = 0.5;
  day.windows.push_back(later);
  const auto proposal = propose(question, try_every_choice);
  ASSERT_EQ(proposal->burns.size(), 1U);
  EXPECT_EQ(proposal->burns[0].window.latest_light_up, plan_time(0, 13));
}

TEST_F(Plan, AUnitOfADepotThatTheDistrictDoesNotHaveGetsNothing) {
  offer("a", {{0, 1}});
  find("a").needs.depot = "elsewhere";
  EXPECT_EQ(lost(*this, "a", 0), "crews: none of the crews can be there by 14:00, the latest to light up");
}

TEST_F(Plan, KeepsCrewsFreeOnDatesOfDanger) {
  question.means.readiness.free_crews = 2;
  offer("a", {{0, 1}, {1, 1}, {2, 1}});
  EXPECT_EQ(burns(*this), "a@0");
  question.means.readiness.quiet[plan_date(0)] = Fit::out;
  question.means.readiness.danger[plan_date(0)] = "FFDI 45";
  question.means.readiness.quiet[plan_date(1)] = Fit::unknown;
  EXPECT_EQ(burns(*this), "a@2");
  EXPECT_EQ(lost(*this, "a", 0), "readiness: 1 crew needed on Thursday 1 April, 0 left while 2 stay free for wildfire: FFDI 45");
  question.means.readiness.quiet.erase(plan_date(2));
  EXPECT_EQ(lost(*this, "a", 2),
            "readiness: 1 crew needed on Saturday 3 April, 0 left while 2 stay free for wildfire: the danger is unknown");
}

TEST_F(Plan, AirshedsTakeSoManyBurnsAndHectares) {
  question.means.depots[0].crews = 9;
  question.means.airsheds = {{"v", "Valley", 2, std::nullopt}, {"t", "Tops", std::nullopt, 100}};
  for (const char* id : {"a", "b", "c"}) {
    offer(id, {{0, id[0] == 'c' ? 0.5 : 1}});
    find(id).airshed = "v";
  }
  for (const char* id : {"x", "y", "z"}) {
    offer(id, {{0, id[0] == 'x' ? 1 : 0.5}});
    find(id).airshed = "t";
    find(id).area_ha = 50.01;
  }
  find("z").area_ha.reset();
  EXPECT_EQ(burns(*this), "a@0 b@0 x@0");
  EXPECT_EQ(lost(*this, "c", 0), "airshed: Valley takes 2 burns on Thursday 1 April (Unit a, Unit b)");
  EXPECT_EQ(lost(*this, "y", 0), "airshed: Tops takes 100 ha on Thursday 1 April, 50 ha needed, 50 ha left (Unit x 50 ha)");
  EXPECT_EQ(lost(*this, "z", 0), "airshed: Tops takes 100 ha on Thursday 1 April, and its area is not known");
  find("y").area_ha = 49.99;
  EXPECT_EQ(burns(*this), "a@0 b@0 x@0 y@0");
}

TEST_F(Plan, NeighboursAreNotBothLit) {
  offer("a", {{0, 1}});
  offer("b", {{2, 0.5}});
  plan_of("a").adjacent = {"b"};  // the other way as well
  EXPECT_EQ(burns(*this), "a@0");
  EXPECT_EQ(lost(*this, "b", 2),
            "adjacency: lies beside a unit not to be lit in the same season: Unit a is proposed on Thursday 1 April");
  commit("b", 1);
  EXPECT_EQ(burns(*this), "");
  EXPECT_EQ(lost(*this, "a", 0),
            "adjacency: lies beside a unit not to be lit in the same season: Unit b is committed on Friday 2 April");
}

TEST_F(Plan, ANeighbourThatWasLitClosesTheDateForIt) {
  unit("a");
  Day& day = met("a", 0);
  day.verdict = Verdict::blocked;
  day.blocked_by = {{.kind = "adjacent", .why = "b beside it was lit on 2027-03-01", .until = {}}};
  EXPECT_EQ(lost(*this, "a", 0), "adjacency: b beside it was lit on 2027-03-01");
  question.means.depots[0].crews = 0;  // named first
  EXPECT_EQ(lost(*this, "a", 0), "crews: 1 crew needed on Thursday 1 April, 0 of 0 left");
}

TEST_F(Plan, WhatGoesBeforeIsLitLongEnoughBefore) {
  offer("edge", {{0, 0.2}, {1, 0.3}});
  offer("main", {{1, 1}, {2, 0.9}});
  plan_of("main").after = {{"edge", 2}};
  for (const char* id : {"edge", "main"}) find(id).needs.crews = 2;
  EXPECT_EQ(burns(*this), "edge@0 main@2");
  EXPECT_EQ(lost(*this, "main", 1), "order: Unit edge has to be lit at least 2 days before");
  plan_of("main").lit = {{"edge", plan_date(-5)}};
  EXPECT_EQ(burns(*this), "edge@0 main@2");
  // Lit lately it has to wait, whatever else is lit; the day says so too and is not asked.
  plan_of("main").lit.push_back({"edge", plan_date(1)});
  EXPECT_EQ(burns(*this), "edge@1");
}

TEST_F(Plan, WhatGoesBeforeIsNotLitAgainInTheMeantime) {
  offer("edge", {{2, 0.1}});
  offer("main", {{2, 1}});
  plan_of("main").after = {{"edge", 2}};
  plan_of("main").lit = {{"edge", plan_date(-5)}};
  EXPECT_EQ(burns(*this), "main@2");
  EXPECT_EQ(lost(*this, "edge", 2), "order: Unit main, on Saturday 3 April, has to come at least 2 days after it was lit");
  find("main").days.clear();
  commit("main", 2);
  EXPECT_EQ(burns(*this), "");
}

TEST_F(Plan, ACommittedBurnThatGoesBeforeCounts) {
  offer("main", {{1, 1}, {2, 0.5}});
  unit("edge");
  plan_of("main").after = {{"edge", 2}};
  EXPECT_EQ(burns(*this), "");
  commit("edge", 0);
  EXPECT_EQ(burns(*this), "main@2");
}

TEST_F(Plan, WhatIsCommittedTakesItsMeansAndIsNoPartOfTheProposal) {
  offer("a", {{0, 1}, {1, 1}});
  offer("b", {{0, 0.5}, {1, 0.9}, {2, 0.8}});
  find("b").needs = {.crews = 2, .depot = "home", .patrol_crews = 1, .patrol_days = 1};
  commit("b", 0);
  EXPECT_EQ(burns(*this), "a@1");
  EXPECT_EQ(lost(*this, "a", 0), "crews: 1 crew needed on Thursday 1 April, 0 of 2 left (Unit b 2)");
  EXPECT_EQ(lost(*this, "b", 0), "");
  EXPECT_EQ(lost(*this, "b", 2), "displaced: would displace its burn committed on Thursday 1 April");
}

TEST_F(Plan, CommitmentsThatAskForTooMuchLeaveNothing) {
  offer("a", {{0, 1}});
  offer("b", {});
  find("b").needs.crews = 5;
  commit("b", 0);
  offer("c", {{0, 0.1}});
  find("c").needs.crews = 0;
  EXPECT_EQ(burns(*this), "c@0");
  EXPECT_EQ(lost(*this, "a", 0), "crews: 1 crew needed on Thursday 1 April, 0 of 2 left (Unit b 5)");
}

TEST_F(Plan, OpenBurnsArePatrolledUntilTheyShouldBeOverAndBeyondWhileNobodyClosesThem) {
  question.means.depots[0].crews = 1;
  offer("a", {{0, 0.9}, {1, 0.8}, {2, 0.1}});
  unit("open").needs = {.crews = 1, .depot = "", .patrol_crews = 1, .patrol_days = 3};
  commit("open", -2, true);  // patrolled to date 1
  EXPECT_EQ(burns(*this), "a@2");
  question.commitments[0].date = plan_date(-4);  // should have been over yesterday
  EXPECT_EQ(burns(*this), "");
  question.commitments.clear();
  EXPECT_EQ(burns(*this), "a@0");
}

TEST_F(Plan, APartOfAnOpenBurnMayBeLitOnAnotherDate) {
  offer("a", {{1, 1}});
  find("a").needs.patrol_crews = 1;
  find("a").needs.patrol_days = 1;
  commit("a", 0, true);
  EXPECT_EQ(burns(*this), "a@1");
}

TEST_F(Plan, HoldsToWhatSomebodyWantsInAndOut) {
  offer("a", {{0, 1}, {1, 0.9}});
  offer("b", {{0, 0.5}});
  question.means.depots[0].crews = 1;
  EXPECT_EQ(burns(*this), "b@0 a@1");
  question.without = {{"a", plan_date(1)}};
  EXPECT_EQ(burns(*this), "a@0");
  EXPECT_EQ(lost(*this, "a", 1), "left_out: asked to be left out");
  question.with = {{"b", plan_date(0)}};
  EXPECT_EQ(burns(*this), "b@0");
  question.with.push_back({"a", plan_date(0)});
  EXPECT_EQ(burns(*this),
            "error cannot_hold: b cannot be burnt on Thursday 1 April: 1 crew needed on Thursday 1 April, 0 of 1 left "
            "(Unit a 1)");
}

TEST_F(Plan, RefusesWhatItCannotHold) {
  offer("a", {{0, 1}});
  met("a", 1).weather = Verdict::out;
  question.with = {{"a", plan_date(1)}, {"b", plan_date(0)}};
  question.without = {{"a", plan_date(2)}};
  commit("c", 0);
  const auto proposal = propose(question, try_every_choice);
  ASSERT_FALSE(proposal);
  std::vector<std::string> found;
  for (const Error& error : proposal.errors()) found.push_back(error.code + " " + error.what);
  EXPECT_EQ(found,
            (std::vector<std::string>{
                "unknown_unit c has a booking and is no unit of the question", "unknown_pair b has no day on Thursday 1 April",
                "unknown_pair a has no day on Saturday 3 April", "cannot_hold a cannot be burnt on Friday 2 April: out"}));
}

TEST_F(Plan, WhatIsWantedAndWaitsForNobodyIsRefusedInWords) {
  offer("main", {{0, 1}});
  unit("edge");
  plan_of("main").after = {{"edge", 1}};
  question.with = {{"main", plan_date(0)}};
  EXPECT_EQ(burns(*this), "error cannot_hold: the burns asked for cannot be held together with those that must go before");
}

// A solver that is wrong is found out.
struct WrongSolver : Plan {
  WrongSolver() {
    question.means.depots[0].crews = 1;
    offer("a", {{0, 1}});
    offer("b", {{0, 0.5}, {1, 0.5}});
  }
  std::string answer(const std::function<void(ProgramAnswer&, const Program&)>& change) {
    const auto proposal = propose(question, [&](const Program& program) {
      auto right = try_every_choice(program);
      change(*right, program);
      return right;
    });
    return proposal ? "a plan" : proposal.error().code + ": " + proposal.error().what;
  }
};

TEST_F(WrongSolver, IsFoundOut) {
  EXPECT_EQ(answer([](auto&, const auto&) {}), "a plan");
  EXPECT_EQ(answer([](auto& a, const auto&) {
              a.chosen = {1, 1, 1};
            }),
            "wrong_answer: the choice that came back breaks a constraint");
  EXPECT_EQ(answer([](auto& a, const auto&) { a.chosen = {1}; }), "wrong_answer: an answer for another program came back");
  EXPECT_EQ(answer([](auto& a, const auto&) { a.chosen[0] = 7; }), "wrong_answer: an answer has values other than 0 and 1");
  EXPECT_EQ(answer([](auto& a, const auto&) { a.chosen.clear(); }),
            "wrong_answer: an answer without a choice says that it is the best");
  EXPECT_EQ(answer([](auto& a, const auto&) { a.bound -= 1; }),
            "wrong_answer: a choice worth 22500 came back with the bound 22499");
  EXPECT_EQ(answer([](auto& a, const auto& program) {
              a = {true, {1, 0, 0}, program.values[0], true};
            }),
            "wrong_answer: a choice that leaves out what fits came back as the best");
  EXPECT_EQ(answer([](auto& a, const auto&) {
              a = {true, {}, 1, false};
            }),
            "wrong_answer: a choice worth more than the bound that came back was found");
}

TEST_F(WrongSolver, ThatFindsNothingInTimeLeavesWhatFits) {
  const auto proposal = propose(question, [](const Program&) -> Result<ProgramAnswer> {
    return ProgramAnswer{true, {}, 30'000, false};
  });
  ASSERT_TRUE(proposal);
  EXPECT_EQ(proposal->burns.size(), 2U);
  EXPECT_FALSE(proposal->proven);
  EXPECT_EQ(proposal->bound, 30'000);
  EXPECT_EQ(proposal->value, 22'500);
}

TEST_F(WrongSolver, ThatFailsIsTold) {
  const auto proposal = propose(question, [](const Program&) -> Result<ProgramAnswer> {
    return Error{ErrorKind::failed, "no_solver", "", "it has gone", ""};
  });
  ASSERT_FALSE(proposal);
  EXPECT_EQ(proposal.error().code, "no_solver");
}

}  // namespace
}  // namespace hakea::test
