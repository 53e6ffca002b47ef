// One sentence on which of two comes first, from the numbers that rank them.
#include "core/days/compare.h"

#include <gtest/gtest.h>

#include "tests/support/day_rig.h"

namespace hakea::test {
namespace {

using namespace core;

// Saturday met, Sunday with a dangerous Monday in its tail, Monday dangerous, Tuesday beyond what is known.
void fill(DayRig& rig) {
  rig.all("relative_humidity", 55).all("ffdi", 5).at("ffdi", 2, 14, "45");
  Limit tail = limit("ffdi", below(24), Scope::days_after, Kind::stop);
  tail.days = 1;
  rig.prescription().limits = {limit("relative_humidity", between(35, 75)), tail};
}

std::string says(DayRig& rig, int a, int b) { return compared(rig.day(a), rig.day(b), rig.prescription(), *rig.record().unit); }

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

TEST(Compare, ADayLosesByTheLimitAndTheNumberThatDecide) {
  DayRig rig(4);
  fill(rig);
  const std::string text = says(rig, 1, 0);
  EXPECT_TRUE(text.starts_with("Saturday 3 April before Sunday 4 April: met against out; on Sunday: ")) << text;
  EXPECT_TRUE(has(text, " in the days after is 45 on Monday, needs less than 24")) << text;
  EXPECT_EQ(text, says(rig, 0, 1)) << "whichever is named first";
  EXPECT_TRUE(has(says(rig, 0, 3), "met against unknown; on Tuesday: its tail reaches beyond the forecast"));
}

TEST(Compare, EveryPairIsToldInTheOrderOfTheirRanks) {
  DayRig rig(6);
  fill(rig);
  rig.at("relative_humidity", 3, 9, "34 34 34 34 34 34 34 34 34").at("relative_humidity", 4, 9, "60 60 34");
  const std::vector<Day> days = rig.days();
  for (std::size_t i = 0; i < days.size(); ++i)
    for (std::size_t k = i + 1; k < days.size(); ++k) {
      EXPECT_TRUE(ranks_before(days[i], days[k]));
      const std::string text = compared(days[k], days[i], rig.prescription(), *rig.record().unit);
      const std::string again = compared(days[i], days[k], rig.prescription(), *rig.record().unit);
      EXPECT_EQ(text, again);
      EXPECT_TRUE(has(text, " before ")) << text;
      EXPECT_GT(text.size(), 45U) << text;
    }
}

TEST(Compare, AmongMetDaysTheAddendThatPartsThemIsNamed) {
  Day first, second;
  first.date = LocalDate(std::chrono::days(20'000));
  second.date = first.date + std::chrono::days(1);
  first.verdict = second.verdict = Verdict::met;
  first.fit = 0.81;
  second.fit = 0.74;
  first.parts = {{"preference", 0.86}, {"margin", -0.05}, {"notes", 0}};
  second.parts = {{"preference", 0.84}, {"margin", -0.05}, {"notes", -0.05}};
  EXPECT_TRUE(has(compared(first, second, {}, {}), "both met; fit 0.81 against 0.74; fewer preferences fail, 0.00 against -0.05"))
      << compared(first, second, {}, {});
  second.fit = 0.81;
  first.smallest_margin = 0.6;
  second.smallest_margin = 0.2;
  EXPECT_TRUE(has(compared(first, second, {}, {}), "its smallest margin is 0.60 forecast errors against 0.20"));
  second.smallest_margin = 0.6;
  EXPECT_TRUE(has(compared(second, first, {}, {}), "alike in fit and margin, and the earlier one goes first"));
}

TEST(Compare, UnitsArePartedByVerdictPriorityRarityAndFit) {
  Day met, blocked;
  met.date = blocked.date = LocalDate(std::chrono::days(20'911));
  met.verdict = Verdict::met;
  met.fit = 0.8;
  Day less = met;
  less.fit = 0.7;
  blocked.verdict = Verdict::blocked;
  blocked.blocked_by = {{.kind = "event", .why = "festival at the racecourse", .until = {}}};
  const Prescription prescription;
  const UnitTraits traits;
  UnitOnDay a{
      .id = "a", .name = "Ridge", .priority = 2, .rarity = 0.9, .day = &met, .prescription = &prescription, .traits = &traits};
  UnitOnDay b = a;
  b.id = "b";
  b.name = "Gully";
  const auto text = [&] { return compared(b, a); };
  EXPECT_TRUE(has(text(), "Ridge before Gully on Saturday 3 April: both met; alike in priority, rarity and fit")) << text();
  b.day = &less;
  EXPECT_TRUE(has(text(), "both met; fit 0.80 against 0.70")) << text();
  b.rarity = 0.5;
  EXPECT_TRUE(has(text(), "both met; its windows are rarer, 0.90 against 0.50")) << text();
  b.priority = 3;
  EXPECT_TRUE(has(text(), "both met; priority 2 against 3")) << text();
  b.day = &blocked;
  EXPECT_TRUE(has(text(), "met against blocked; Gully: festival at the racecourse")) << text();
}

TEST(Compare, AGapInTheTailIsNotTheEndOfTheForecast) {
  DayRig rig(5);
  fill(rig);
  rig.at("ffdi", 2, 14, "5").at("ffdi", 1, 10, "- -");  // nothing dangerous, two hours of Sunday missing
  EXPECT_FALSE(has(rig.day(0).why, "beyond the forecast")) << rig.day(0).why;
  EXPECT_TRUE(has(rig.day(0).why, "the tail is unknown: not all of its ")) << rig.day(0).why;
}

}  // namespace
}  // namespace hakea::test
