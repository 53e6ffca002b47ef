// Every pair of states of a booking against a table written by hand.
#include "service/http/booking_steps.h"

#include <gtest/gtest.h>

namespace hakea::test {
namespace {

using namespace hakea::service;

const std::vector<std::string> kStates{"draft", "committed", "stood_down", "lit", "mop_up", "patrol", "closed"};

// By state what may follow: o an officer may say so, c a coordinator, - nobody. The same state: what is said of it changes.
const std::map<std::string, std::string> kMay{{"", "oc-cccc"},           {"draft", "oco----"}, {"committed", "cooo---"},
                                              {"stood_down", "o-o----"}, {"lit", "---oooc"},   {"mop_up", "---oooc"},
                                              {"patrol", "---oooc"},     {"closed", "----ooc"}};

bool is_lit(std::string_view state) { return state == "lit" || state == "mop_up" || state == "patrol" || state == "closed"; }

WantedStep step(std::string_view from, std::string_view to, Role role) {
  return {.from = from, .to = to, .role = role, .changes_unit = false, .changes_date = false, .has_lit_at = is_lit(to)};
}

TEST(BookingSteps, AreThoseOfTheTable) {
  for (const auto& [from, may] : kMay)
    for (std::size_t i = 0; i < kStates.size(); ++i) {
      const auto officer = refused_step(step(from, kStates[i], Role::officer));
      const auto coordinator = refused_step(step(from, kStates[i], Role::coordinator));
      const std::string what = from + " to " + kStates[i];
      EXPECT_EQ(!officer, may[i] == 'o') << what;
      EXPECT_EQ(!coordinator, may[i] != '-') << what;
      const int status = !coordinator ? 0 : coordinator->status;
      EXPECT_EQ(status, may[i] == '-' ? 409 : 0) << what;
      const int of_officer = !officer ? 0 : officer->status;
      EXPECT_EQ(of_officer, may[i] == 'o' ? 0 : may[i] == 'c' ? 403 : 409) << what;
    }
}

TEST(BookingSteps, ARefusedOneNamesWhatIsAllowed) {
  const auto refused = refused_step(step("lit", "draft", Role::coordinator));
  ASSERT_TRUE(refused);
  EXPECT_EQ(refused->code, "state_conflict");
  ASSERT_EQ(refused->errors.size(), 1U);
  EXPECT_EQ(refused->errors[0].where, "/state");
  EXPECT_EQ(refused->errors[0].what, "a booking that is lit cannot become draft");
  EXPECT_EQ(refused->errors[0].hint, "it may become mop_up, patrol, closed");
  EXPECT_EQ(refused_step(step("", "stood_down", Role::coordinator))->errors[0].hint,
            "it may become draft, committed, lit, mop_up, patrol, closed");
}

TEST(BookingSteps, WhatWasLitSaysWhenAndWhatWasNotDoesNot) {
  WantedStep lit = step("committed", "lit", Role::officer);
  lit.has_lit_at = false;
  EXPECT_EQ(refused_step(lit)->errors[0].where, "/lit_at");
  EXPECT_EQ(refused_step(lit)->errors[0].code, "required");
  WantedStep draft = step("", "draft", Role::officer);
  draft.has_lit_at = true;
  EXPECT_EQ(refused_step(draft)->errors[0].code, "not_lit");
}

TEST(BookingSteps, WhatWasLitStaysWhereItWas) {
  for (const char* from : {"lit", "mop_up", "patrol", "closed"}) {
    WantedStep moved = step(from, from, Role::coordinator);
    moved.changes_date = true;
    EXPECT_EQ(refused_step(moved)->errors[0].where, "/date") << from;
    moved.changes_unit = true;
    EXPECT_EQ(refused_step(moved)->errors[0].where, "/unit") << from;
  }
  WantedStep draft = step("draft", "draft", Role::officer);
  draft.changes_unit = draft.changes_date = true;
  EXPECT_FALSE(refused_step(draft));
}

TEST(BookingSteps, AnotherDateOfWhatIsCommittedIsACommitmentAnew) {
  WantedStep moved = step("committed", "committed", Role::officer);
  EXPECT_FALSE(refused_step(moved)) << "a notice or a note may be added";
  moved.changes_date = true;
  EXPECT_EQ(refused_step(moved)->status, 403);
  moved.role = Role::coordinator;
  EXPECT_FALSE(refused_step(moved));
}

}  // namespace
}  // namespace hakea::test
