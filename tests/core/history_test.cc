// What past hours say of a prescription, on hours written by hand.
#include "core/days/history.h"

#include <gtest/gtest.h>

#include "tests/support/day_rig.h"

namespace hakea::test {
namespace {

using namespace core;

// Nine light-up hours from 09:00; humidity 35-75 %, at most 25 degC.
DayRig& two_limits(DayRig& rig) {
  rig.all("relative_humidity", 55).all("air_temperature", 20);
  rig.prescription().limits = {limit("relative_humidity", between(35, 75)), limit("air_temperature", at_most(25))};
  rig.prescription().duration_h = 6;
  return rig;
}

TEST(History, CountsTheHoursThatEachLimitLosesAloneAndTogether) {
  DayRig rig(4);
  two_limits(rig);
  rig.at("relative_humidity", 1, 9, "90 90 90 90 90 90 90 90 90");
  rig.at("relative_humidity", 2, 12, "30 30 30 30 30 30").at("air_temperature", 2, 15, "28 28 28");
  rig.at("relative_humidity", 3, 20, "30 30 30");  // after the light-up hours: nothing is lost
  const core::History history = rig.history();
  EXPECT_EQ(history.dates.size(), 4u);
  EXPECT_EQ(history.met, 2);
  ASSERT_EQ(history.hours_lost.size(), 2u);
  EXPECT_EQ(history.hours_lost[0].alone, 9 + 3);
  EXPECT_EQ(history.hours_lost[0].together, 3);
  EXPECT_EQ(history.hours_lost[1].alone, 0);
  EXPECT_EQ(history.hours_lost[1].together, 3);
  ASSERT_TRUE(history.best_relaxation);
  EXPECT_EQ(history.best_relaxation->limit, 0u);
  EXPECT_EQ(history.best_relaxation->gain_days, 2) << "on day 2 six hours are left until the heat";
}

TEST(History, CountsMetDaysByMonthAndYear) {
  DayRig rig(30);
  two_limits(rig);
  const core::History history = rig.history();
  EXPECT_EQ(history.by_month[3], 28);
  EXPECT_EQ(history.by_month[4], 2);
  ASSERT_EQ(history.by_year.size(), 1u);
  EXPECT_EQ(history.by_year.front().met, 30);
  EXPECT_FALSE(history.best_relaxation);
}

TEST(History, NamesLimitsThatAreNeverInTogether) {
  DayRig rig(2);
  rig.all("air_temperature", 10).all("relative_humidity", 80);
  rig.at("air_temperature", 1, 12, "24 24 24").at("relative_humidity", 1, 12, "40 40 40");
  rig.prescription().limits = {limit("air_temperature", at_least(20)), limit("relative_humidity", at_least(60)),
                               limit("relative_humidity", at_most(100))};
  using Pairs = std::vector<std::pair<std::size_t, std::size_t>>;
  EXPECT_EQ(rig.history().never_together, (Pairs{{0, 1}}));
  rig.all("relative_humidity", 50);
  EXPECT_EQ(rig.history().never_together, Pairs()) << "a limit that is never in at all is told by its lost hours";
}

TEST(History, LosesAWholeDayToALimitOfTheDaysAfter) {
  DayRig rig(3);
  two_limits(rig).all("wind_speed", 10);
  rig.at("wind_speed", 1, 14, "60");
  Limit tail = limit("wind_speed", at_most(40), Scope::days_after, Kind::stop);
  tail.days = 1;
  rig.prescription().limits.push_back(tail);
  const core::History history = rig.history();
  EXPECT_EQ(history.dates[0].verdict, Verdict::out);
  EXPECT_EQ(history.hours_lost[2].alone, 9) << "of the day before; on the day itself an end after it keeps the limit";
  EXPECT_EQ(history.dates[2].verdict, Verdict::unknown) << "the record ends within the tail";
  EXPECT_EQ(history.unknown, 1);
}

TEST(History, LeavesOutDaysThatTheCalendarForbids) {
  DayRig rig(14);
  two_limits(rig).all("relative_humidity", 90);
  rig.prescription().weekdays = 0b0000011;  // Monday and Tuesday
  rig.plan().status = "not_ready";          // what holds today says nothing of the past
  const core::History history = rig.history();
  EXPECT_EQ(
      std::count_if(history.dates.begin(), history.dates.end(), [](const auto& on) { return on.verdict == Verdict::blocked; }),
      10);
  EXPECT_EQ(history.hours_lost[0].alone, 4 * 9);
  EXPECT_EQ(history.best_relaxation->gain_days, 4);
}

TEST(History, JudgesEveryDayAsAForecastDoes) {
  DayRig rig(12);
  two_limits(rig);
  for (int day = 0; day < 12; ++day) {
    std::string humidity, temperature;
    for (int hour = 0; hour < 9; ++hour) {
      humidity += (day * 31 + hour * 17) % 23 == 0 ? "- " : std::to_string(30 + (day * 13 + hour * 7) % 50) + " ";
      temperature += std::to_string(15 + (day * 5 + hour) % 13) + " ";
    }
    rig.at("relative_humidity", day, 9, humidity).at("air_temperature", day, 9, temperature);
  }
  rig.prescription().duration_h = 4;
  const core::History history = rig.history();
  int met = 0;
  for (int day = 0; day < 12; ++day) {
    EXPECT_EQ(history.dates[static_cast<std::size_t>(day)].verdict, rig.day(day).verdict) << day;
    met += rig.day(day).verdict == Verdict::met;
  }
  EXPECT_EQ(history.met, met);
  EXPECT_GT(met, 0);
  EXPECT_LT(met, 12);
}

TEST(Rarity, IsKnownFromAYearOn) {
  DayRig rig(349);
  two_limits(rig);
  EXPECT_FALSE(rig.history().rarity());
  DayRig year(366);
  two_limits(year);
  EXPECT_NEAR(*year.history().rarity(), 0, 0.003) << "met every day";
  year.all("air_temperature", 30);
  EXPECT_EQ(*year.history().rarity(), 1) << "never met";
}

}  // namespace
}  // namespace hakea::test
