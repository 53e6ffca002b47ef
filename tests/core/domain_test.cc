// A value outside its model's published domain can fail a limit and never passes one: by scope, in the fit, in the reasons.
#include <gtest/gtest.h>

#include "core/catalogue/status.h"
#include "core/days/explain.h"
#include "core/days/score.h"
#include "core/prescription/limit_hours.h"
#include "tests/core/unit_hours_builder.h"
#include "tests/support/day_rig.h"

namespace hakea::test {
namespace {

using namespace core;
using namespace std::chrono_literals;

// Ten hours by day; the rate of spread is computed outside its domain in the middle of them.
class OutOfDomain : public ::testing::Test {
 protected:
  OutOfDomain() : rig_(3) {
    rig_.all("rate_of_spread", 50).all("relative_humidity", 50);
    rig_.prescription().within = ClockSpan{9h, 18h};
    rig_.prescription().duration_h = 5;
  }
  void doubt(int day, int from, int hours) { rig_.flag("rate_of_spread", day, from, hours, flag::kOutOfDomain); }
  void ask(std::string_view key, Range range, Scope scope = Scope::each_hour, Kind kind = Kind::hard) {
    rig_.prescription().limits.push_back(limit(key, range, scope, kind));
  }
  static bool names_it(const Day& day) { return is_out_of_domain(quantity_index("rate_of_spread"), day); }

  DayRig rig_;
};

TEST_F(OutOfDomain, AValueThatWouldPassLeavesTheHourUnknownWithItsReason) {
  ask("rate_of_spread", at_most(100));
  doubt(0, 9, 9);
  EXPECT_EQ(rig_.says(0), "unknown 09:00-18:00?");
  const Day day = rig_.day(0);
  ASSERT_EQ(day.missing.size(), 1u);
  EXPECT_EQ(day.missing.front().hours, 9);
  EXPECT_EQ(day.missing.front().reason, Reason::out_of_domain);
  EXPECT_NE(day.why.find("rate of spread is outside its model's domain, needs at most 100 m/h"), std::string::npos) << day.why;
}

TEST_F(OutOfDomain, AValueThatFailsIsOut) {
  ask("rate_of_spread", at_most(40));
  doubt(0, 9, 9);
  EXPECT_EQ(rig_.says(0), "out");
  EXPECT_FALSE(names_it(rig_.day(0))) << "it is known to be out";
}

TEST_F(OutOfDomain, AWindowEndsWhereTheModelDoesAndSaysSo) {
  ask("rate_of_spread", at_most(100));
  doubt(0, 15, 3);
  EXPECT_EQ(rig_.says(0), "met 09:00-15:00");
  EXPECT_NE(rig_.day(0).why.find("what comes after is unknown: rate of spread is outside its model's domain"), std::string::npos)
      << rig_.day(0).why;
}

TEST_F(OutOfDomain, NoScopeLetsItPass) {
  for (const Scope scope : {Scope::each_hour, Scope::at_start, Scope::window_mean, Scope::window_min, Scope::window_max,
                            Scope::same_day, Scope::night_after, Scope::days_after}) {
    rig_.prescription().limits.clear();
    ask("rate_of_spread", between(0, 100), scope);
    rig_.prescription().limits.back().days = scope == Scope::days_after ? 1 : 0;
    ASSERT_EQ(rig_.day(0).verdict, Verdict::met) << word(scope);
  }
  for (int day = 0; day < 3; ++day) doubt(day, 0, 24);
  for (const Scope scope : {Scope::each_hour, Scope::at_start, Scope::window_mean, Scope::window_min, Scope::window_max,
                            Scope::same_day, Scope::night_after, Scope::days_after}) {
    rig_.prescription().limits.clear();
    ask("rate_of_spread", between(0, 100), scope);
    rig_.prescription().limits.back().days = scope == Scope::days_after ? 1 : 0;
    EXPECT_EQ(rig_.day(0).verdict, Verdict::unknown) << word(scope);
    EXPECT_TRUE(names_it(rig_.day(0))) << word(scope);
    rig_.prescription().limits.back().acceptable = at_most(40);
    EXPECT_EQ(rig_.day(0).verdict, Verdict::out) << word(scope);
  }
}

TEST_F(OutOfDomain, AStretchSaysWhyItIsUnknown) {
  ask("rate_of_spread", at_most(100), Scope::window_mean);
  doubt(0, 12, 1);
  const LimitHours hours(rig_.prescription().limits.front(), rig_.prescription(), std::vector<const UnitHours*>{&rig_.record()});
  const int begin = rig_.hour_index(0, 10);
  for (const StretchValue& value :
       {hours.mean(begin, begin + 5), hours.smallest(begin, begin + 5), hours.largest(begin, begin + 5)}) {
    EXPECT_EQ(value.fit, Fit::unknown);
    EXPECT_EQ(value.why, Reason::out_of_domain);
    EXPECT_TRUE(value.is_out_of_domain);
  }
  EXPECT_EQ(hours.mean(begin, begin + 2).fit, Fit::in) << "the hours before it";
}

TEST_F(OutOfDomain, NeverMakesANearMiss) {
  ask("rate_of_spread", at_most(48));  // 10 % of the bound would do
  EXPECT_EQ(rig_.says(0), "near_miss");
  doubt(0, 0, 24);
  EXPECT_EQ(rig_.says(0), "out");
}

TEST_F(OutOfDomain, ADirectionInItsSectorDoesNotPassEither) {
  rig_.all("wind_from_direction", 30).all("wind_speed", 15);
  rig_.prescription().limits = {sector_limit(350, 90)};
  EXPECT_EQ(rig_.says(0), "met 09:00-18:00");
  rig_.flag("wind_from_direction", 0, 9, 9, flag::kOutOfDomain);
  EXPECT_EQ(rig_.says(0), "unknown 09:00-18:00?");
  EXPECT_EQ(rig_.day(0).missing.front().reason, Reason::out_of_domain);
  rig_.flag("wind_speed", 1, 9, 9, flag::kOutOfDomain);
  EXPECT_EQ(rig_.says(1), "unknown 09:00-18:00?") << "nor does one whose speed is in doubt";
  rig_.all("wind_from_direction", 200);
  EXPECT_EQ(rig_.says(0), "out");
}

TEST_F(OutOfDomain, TheMeanOfDirectionsIsAsDoubtfulAsItsHours) {
  rig_.all("wind_from_direction", 30).all("wind_speed", 15);
  rig_.prescription().limits = {limit("wind_from_direction", between(0, 90), Scope::window_mean)};
  EXPECT_EQ(rig_.says(0), "met 09:00-18:00");
  rig_.flag("wind_from_direction", 0, 9, 9, flag::kOutOfDomain);
  EXPECT_EQ(rig_.day(0).verdict, Verdict::unknown);
}

// The fit of a day whose preference is asked of a doubtful value, against the same value in its domain and none at all.
TEST_F(OutOfDomain, NeverRaisesTheFit) {
  for (const Scope scope : {Scope::each_hour, Scope::window_mean, Scope::at_start, Scope::same_day})
    for (const double value : {50.0, 95.0, 140.0}) {
      DayRig known(1), doubtful(1), missing(1);
      for (DayRig* rig : {&known, &doubtful, &missing}) {
        rig->all("relative_humidity", 50).at("relative_humidity", 0, 9, "50 60 70");
        rig->all("rate_of_spread", value);
        Limit humidity = limit("relative_humidity", between(35, 75));
        humidity.preferred = between(40, 55);
        Limit spread = limit("rate_of_spread", at_most(100), scope, Kind::preference);
        spread.preferred = at_most(60);
        rig->prescription().within = ClockSpan{9h, 18h};
        rig->prescription().duration_h = 5;
        rig->prescription().limits = {humidity, spread};
      }
      doubtful.flag("rate_of_spread", 0, 0, 24, flag::kOutOfDomain);
      for (int h = 0; h < 24; ++h) missing.at("rate_of_spread", 0, h, "-");
      const Day with = doubtful.day(0);
      EXPECT_LE(*with.fit, *known.day(0).fit) << word(scope) << value;
      EXPECT_LE(*with.fit, *missing.day(0).fit) << word(scope) << value;
      EXPECT_EQ(with.verdict, Verdict::met) << "a preference never decides";
      EXPECT_EQ(names_it(with), value <= 100) << word(scope) << value;
    }
}

TEST_F(OutOfDomain, NeverRaisesTheRank) {
  ask("rate_of_spread", at_most(100));
  ask("relative_humidity", between(30, 75));
  for (int day = 0; day < 3; ++day) rig_.at("relative_humidity", day, 9, "50 50 50 50 50 50 50 50 50");
  doubt(1, 9, 9);
  EXPECT_EQ(rig_.day(1).rank, 3) << "behind the two days like it whose values are known";
}

TEST(Provisional, FollowsTheUnitsOwnModelAndWhatIsMadeOfIt) {
  UnitTraits grass = forest_unit();
  grass.fuel.is_forest = false;
  grass.fuel.moisture_model = MoistureModel::grass;
  const UnitTraits forest = forest_unit();
  const auto status = [](std::string_view key, const UnitTraits& unit) {
    return status_of(catalogue()[quantity_index(key)], unit);
  };
  ASSERT_EQ(catalogue()[quantity_index("grass_moisture")].status, Status::provisional) << "a line from memory";
  ASSERT_EQ(catalogue()[quantity_index("litter_moisture")].status, Status::firm);
  EXPECT_EQ(status("grass_moisture", forest), Status::provisional);
  EXPECT_EQ(status("litter_moisture", grass), Status::provisional) << "it is the grass's";
  EXPECT_EQ(status("litter_moisture", forest), Status::firm);
  for (const char* key : {"rate_of_spread", "fireline_intensity", "flame_length", "scorch_height"})
    EXPECT_EQ(status(key, grass), Status::provisional) << key;
  for (const char* key : {"air_temperature", "ffdi", "ventilation_index", "kbdi"}) {
    EXPECT_EQ(status(key, grass), Status::firm) << key;
    EXPECT_EQ(status(key, forest), Status::firm) << key;
  }
}

TEST(Provisional, IsSaidOfTheDaysThatRestOnIt) {
  DayRig rig(1);
  rig.all("grass_moisture", 12).all("relative_humidity", 50).at("grass_moisture", 0, 15, "20 20 20");
  rig.prescription().within = ClockSpan{9h, 18h};
  rig.prescription().duration_h = 7;
  rig.prescription().limits = {limit("relative_humidity", between(30, 75)), limit("grass_moisture", at_most(15)),
                               limit("grass_moisture", at_most(15), Scope::window_mean)};
  const Day day = rig.day(0);
  EXPECT_EQ(day.provisional, std::vector{quantity_index("grass_moisture")});
  EXPECT_NE(day.why.find("closes when grass moisture (provisional model) passes 15 %"), std::string::npos) << day.why;
  EXPECT_NE(day.why.find("; grass moisture (provisional model) is 20 %, needs at most 15 %"), std::string::npos) << day.why;
  rig.prescription().limits.resize(1);
  EXPECT_TRUE(rig.day(0).provisional.empty());
}

}  // namespace
}  // namespace hakea::test
