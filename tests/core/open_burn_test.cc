// What is coming to a burn that is not out yet, on hours written by hand.
#include "core/days/open_burn.h"

#include <gtest/gtest.h>

#include "tests/support/day_rig.h"

namespace hakea::test {
namespace {

using namespace core;
using namespace std::chrono_literals;

class OpenBurn : public ::testing::Test {
 protected:
  static DayRig& calm(DayRig& rig) {
    rig.all("ffdi", 5).all("wind_gust", 20).all("relative_humidity", 60).all("wind_shift", 0).all("wind_speed", 12);
    rig.all("precipitation_amount", 0);
    Limit tail = limit("ffdi", below(24), Scope::days_after, Kind::stop);
    tail.days = 2;
    rig.prescription().limits = {tail, limit("wind_speed", at_least(5), Scope::night_after)};
    return rig;
  }
  static std::vector<BurnDay> days(DayRig& rig, UtcTime now) {
    const std::vector<std::vector<UnitHours>> points{{rig.record()}};
    return burn_days(*rig.record().unit, rig.prescription(), points, now);
  }
};

TEST_F(OpenBurn, EachDateOfTheWeekHasItsWorstHours) {
  DayRig rig(9);
  calm(rig).at("ffdi", 2, 14, "45").at("wind_gust", 2, 15, "72").at("relative_humidity", 2, 16, "12");
  rig.at("wind_shift", 2, 17, "95 60").at("wind_speed", 2, 17, "44 30").at("precipitation_amount", 5, 3, "4 4.5");
  const std::vector<BurnDay> week = days(rig, rig.first().start());
  ASSERT_EQ(week.size(), 7U);
  const BurnDay& hot = week[2];
  EXPECT_EQ(hot.date, rig.date(2));
  EXPECT_EQ(hot.ffdi->value, 45);
  EXPECT_EQ(hot.ffdi->at, rig.first() + rig.hour_index(2, 14));
  EXPECT_EQ(hot.gust->value, 72);
  EXPECT_EQ(hot.humidity->value, 12);
  ASSERT_TRUE(hot.change);
  EXPECT_EQ(hot.change->turn_deg, 95);
  EXPECT_EQ(hot.change->wind_kmh, 44);
  EXPECT_EQ(week[5].rain_mm, 8.5);
  EXPECT_EQ(week[1].rain_mm, 0);
  EXPECT_FALSE(week[1].change);
  EXPECT_EQ(week[1].ffdi->value, 5);

  const BurnDay worst = worst_of(week);
  EXPECT_EQ(worst.ffdi->value, 45);
  EXPECT_EQ(worst.humidity->value, 12);
  EXPECT_EQ(worst.rain_mm, 8.5);
  EXPECT_EQ(worst.change->wind_kmh, 44);
}

TEST_F(OpenBurn, EveryDateIsHeldAgainstTheTailHoweverLongAgoItWasLit) {
  DayRig rig(9);
  calm(rig).at("ffdi", 4, 14, "24").at("wind_speed", 1, 20, "3");
  const std::vector<BurnDay> week = days(rig, rig.first().start());
  EXPECT_EQ(week[0].tail, TailVerdict::in);
  EXPECT_EQ(week[4].tail, TailVerdict::out) << "an open bound: the value itself is out";
  ASSERT_EQ(week[4].broken.size(), 1U);
  EXPECT_EQ(week[4].broken.front().limit, 0U);
  EXPECT_EQ(week[4].broken.front().value, 24);
  EXPECT_EQ(week[1].tail, TailVerdict::out) << "the night after it is calm";
  EXPECT_EQ(week[1].broken.front().limit, 1U);
  EXPECT_EQ(week[2].tail, TailVerdict::in) << "the calm hour was of the night before";
  EXPECT_EQ(worst_of(week).tail, TailVerdict::out);
  EXPECT_EQ(worst_of(week).broken.size(), 2U);
}

TEST_F(OpenBurn, WhatIsMissingIsUnknownAndNeverBenign) {
  DayRig rig(3);
  calm(rig).at("ffdi", 1, 10, "-");
  const std::vector<BurnDay> week = days(rig, rig.first().start());
  ASSERT_EQ(week.size(), 7U);
  EXPECT_EQ(week[1].missing_hours, 1);
  EXPECT_EQ(week[1].tail, TailVerdict::unknown);
  EXPECT_EQ(week[4].missing_hours, 24) << "beyond the forecast";
  EXPECT_FALSE(week[4].ffdi);
  EXPECT_FALSE(week[4].rain_mm);
  EXPECT_EQ(week[4].tail, TailVerdict::unknown);

  const std::vector<BurnDay> nothing = burn_days(*rig.record().unit, rig.prescription(), {}, rig.first().start());
  ASSERT_EQ(nothing.size(), 7U);
  EXPECT_EQ(nothing.front().tail, TailVerdict::unknown);
}

TEST_F(OpenBurn, HoursThatHavePassedCountNoLonger) {
  DayRig rig(9);
  calm(rig).at("ffdi", 0, 14, "45");
  EXPECT_EQ(days(rig, rig.first().start() + 14h + 59min).front().tail, TailVerdict::out) << "the hour still runs";
  const std::vector<BurnDay> later = days(rig, rig.first().start() + 15h);
  EXPECT_EQ(later.front().tail, TailVerdict::in);
  EXPECT_EQ(later.front().ffdi->value, 5);
  EXPECT_EQ(later.size(), 8U) << "seven days from the afternoon touch eight dates";
}

TEST_F(OpenBurn, TheWorstOfAllPointsCountsAndOfRainTheLeast) {
  DayRig rig(8);
  calm(rig).at("precipitation_amount", 0, 10, "5");
  UnitHours ridge = rig.record();
  ridge["ffdi"].set(12, 30);
  ridge["precipitation_amount"].set(10, 1);
  const std::vector<std::vector<UnitHours>> points{{rig.record()}, {ridge}};
  const auto week = burn_days(*rig.record().unit, rig.prescription(), points, rig.first().start());
  EXPECT_EQ(week.front().ffdi->value, 30);
  EXPECT_EQ(week.front().tail, TailVerdict::out);
  EXPECT_EQ(week.front().rain_mm, 1);
}

}  // namespace
}  // namespace hakea::test
