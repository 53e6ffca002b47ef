// Hard cases of the trade that take more than a line of weather: smoke in the night, the sea breeze, shade, many points, drought
// indices at their start, neighbours.
#include <gtest/gtest.h>

#include <algorithm>

#include "core/days/open_burn.h"
#include "tests/core/unit_hours_builder.h"
#include "tests/support/day_rig.h"

namespace hakea::test {
namespace {

using namespace core;
using namespace std::chrono_literals;

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

// Two fair days; in the night after the first the air stands still.
class StillNight : public DayRig {
 public:
  explicit StillNight(TimeZone zone = TimeZone::fixed("test", 10h)) : DayRig(3, std::move(zone)) {
    all("relative_humidity", 55)
        .all("wind_speed", 12)
        .at("wind_speed", 0, 19, "1.5 0.5 1 0.5 1.5")
        .at("wind_speed", 1, 0, "1.5 1.5 1.5 1.5");
    prescription().limits = {limit("relative_humidity", between(35, 75)), limit("wind_speed", at_least(5), Scope::night_after)};
    prescription().limits[1].allow_hours = 3;
  }
};

TEST(HardCase, H8_ANightThatKeepsItsSmokeTakesTheDayOutOfTheTopRankAndAnEarlierEndIsAdvised) {
  StillNight rig;
  EXPECT_EQ(rig.says(0), "out 09:00-18:00") << "a perfect afternoon";
  EXPECT_EQ(rig.says(1), "met 09:00-18:00");
  EXPECT_EQ(rig.days().front().date, rig.date(1));
  const Day day = rig.day(0);
  ASSERT_TRUE(day.night_smoke);
  EXPECT_EQ(day.night_smoke->limit, 1u);
  EXPECT_EQ(day.night_smoke->value, 1.5f) << "three hours are allowed to be calmer";
  ASSERT_TRUE(day.night_smoke->finish_by);
  EXPECT_EQ(*day.night_smoke->finish_by, (rig.first() + 15).start()) << "15:00 standard time";
  EXPECT_TRUE(
      day.why.ends_with("; night smoke limit not met: wind speed at 10 m in the open in the night after is 1.5 km/h, needs at "
                        "least 5 km/h; before such a night an end by 15:00 is advised"))
      << day.why;
  EXPECT_FALSE(rig.day(1).night_smoke);
}

TEST(HardCase, H8_WhereTheUnitMakesItAPreferenceTheDayIsMetAndSaysSo) {
  StillNight rig;
  rig.prescription().limits[1].kind = Kind::preference;
  EXPECT_EQ(rig.says(0), "met 09:00-18:00");
  EXPECT_TRUE(has(rig.day(0).why, "; met, night smoke limit not met: wind speed")) << rig.day(0).why;
  EXPECT_EQ(rig.day(0).notes.size(), 1u);
  EXPECT_LT(*rig.day(0).fit, *rig.day(1).fit);
  EXPECT_EQ(rig.days().front().date, rig.date(1)) << "of two met days the one whose smoke goes comes first";
}

TEST(HardCase, H8_AnEarlierEndIsAdvisedByTheClockOfTheUnitAndOnlyWhereItIsEarlier) {
  StillNight summer(TimeZone("summer", {{UtcTime::min(), 11h, 10h}}));
  EXPECT_TRUE(has(summer.day(0).why, "an end by 16:00 is advised")) << summer.day(0).why;
  StillNight rig;
  rig.prescription().within = ClockSpan{9h, 15h};
  ASSERT_TRUE(rig.day(0).night_smoke);
  EXPECT_FALSE(rig.day(0).night_smoke->finish_by) << "it ends by then";
  rig.prescription().within = ClockSpan{16h, 19h};
  EXPECT_FALSE(rig.day(0).night_smoke->finish_by) << "it begins later";
}

// A north-westerly from the land until 13:00, then an easterly from the sea.
class SeaBreeze : public DayRig {
 public:
  explicit SeaBreeze(double then = 90) : DayRig(1) {
    all("wind_speed", 12).all("wind_from_direction", 315);
    for (int h = 13; h < 24; ++h) at("wind_from_direction", 0, h, std::to_string(then));
    prescription().limits = {sector_limit(230, 340)};
    prescription().duration_h = 3;
    unit().sea_bearing_deg = 110;
  }
};

TEST(HardCase, H9_TheSeaBreezeClosesTheWindowInItsHourAndIsCalledOnshore) {
  SeaBreeze rig;
  EXPECT_EQ(rig.says(0), "met 09:00-13:00");
  EXPECT_EQ(rig.day(0).windows.front().closes.value, 90.f);
  EXPECT_TRUE(has(rig.day(0).why, "closes when the wind veers onshore to 90°, outside the permitted directions"))
      << rig.day(0).why;
  SeaBreeze other(200);
  EXPECT_TRUE(has(other.day(0).why, "closes when the wind backs onshore to 200°")) << other.day(0).why;
  SeaBreeze away(210);
  EXPECT_TRUE(has(away.day(0).why, "closes when the wind backs to 210°")) << "more than a right angle from the sea";
  SeaBreeze inland;
  inland.unit().sea_bearing_deg.reset();
  EXPECT_TRUE(has(inland.day(0).why, "closes when the wind veers to 90°")) << inland.day(0).why;
  SeaBreeze calm(315);
  calm.at("wind_speed", 0, 13, "3 3 3 3 3 3");
  EXPECT_TRUE(has(calm.day(0).why, "closes when the wind is too light to hold a direction")) << calm.day(0).why;
}

TEST(HardCase, H20_ALargeUnitIsAskedAtItsPointsAndShowsTheirRange) {
  DayRig rig(1);
  rig.all("litter_moisture", 14);
  rig.prescription().limits = {limit("litter_moisture", at_most(16))};
  for (const double gully : {18.0, 21.0}) {
    UnitHours& point = rig.add_point();
    for (std::size_t i = 0; i < point.hours; ++i) point["litter_moisture"].set(i, gully);
  }
  EXPECT_EQ(rig.says(0), "out") << "every point must pass unless a share is written";
  const Day day = rig.day(0);
  ASSERT_TRUE(day.limiting && day.limiting->over_points);
  EXPECT_EQ(*day.limiting->over_points, std::pair(14.f, 21.f));
  EXPECT_TRUE(has(day.why, "litter moisture is 21 % (14 to 21 % over its points), needs at most 16 %")) << day.why;
  rig.prescription().points_share = 1.0 / 3;
  EXPECT_EQ(rig.says(0), "met 09:00-18:00") << "the ridge alone";
  DayRig one(1);
  one.all("litter_moisture", 18);
  one.prescription().limits = rig.prescription().limits;
  EXPECT_FALSE(one.day(0).limiting->over_points);
}

TEST(HardCase, H21_ADroughtIndexIsNotKnownBeforeItsFirstYearUnlessItIsEntered) {
  const UnitTraits unit = forest_unit();
  const UtcHour first = nine_on(unit, date(2027, 3, 1));
  UnitHours hours = fair_hours(unit, first, 24 * 30);
  compute_all(hours);
  Prescription prescription;
  prescription.limits = {limit("kbdi", at_most(100), Scope::same_day)};
  const UnitPlan plan;
  const auto day_of = [&](const UnitHours& of) {
    const std::vector<std::vector<UnitHours>> points{{of}};
    const UtcTime now = (first + 24 * 20).start();
    for (const Day& day : evaluate_days({&unit, &prescription, &plan, now, now, points}))
      if (day.date == unit.zone.date(now)) return day;
    return Day();
  };
  const Day unknown = day_of(hours);
  EXPECT_EQ(unknown.verdict, Verdict::unknown) << "not wet soil";
  ASSERT_FALSE(unknown.missing.empty());
  EXPECT_EQ(unknown.missing.front().reason, Reason::no_state);
  EXPECT_TRUE(has(unknown.why,
                  "Keetch-Byram drought index on that date is unknown: no value was entered, and its record is too "
                  "short to find one"))
      << unknown.why;
  UnitHours entered = fair_hours(unit, first, 24 * 30);
  read(entered, "kbdi", 24 * 19, 80);
  compute_all(entered);
  EXPECT_EQ(day_of(entered).verdict, Verdict::met);
  EXPECT_TRUE(day_of(entered).spin_up.empty());
}

TEST(HardCase, H21_AnIndexThatHasNotFoundItsLevelIsMarkedOnTheDay) {
  DayRig rig(1);
  rig.all("kbdi", 120).flag("kbdi", 0, 9, 9, flag::kSpinUp);
  rig.prescription().limits = {limit("kbdi", at_most(100), Scope::same_day)};
  EXPECT_EQ(rig.day(0).spin_up, std::vector{quantity_index("kbdi")});
  EXPECT_TRUE(has(rig.day(0).why, "Keetch-Byram drought index (spin-up) on that date is 120 mm")) << rig.day(0).why;
}

TEST(HardCase, H25_ANeighbourLitThisSeasonBlocksByItsNameAndDateWhateverTheWeather) {
  DayRig rig(1);
  rig.all("relative_humidity", 55);
  rig.prescription().limits = {limit("relative_humidity", between(35, 75))};
  rig.plan().adjacent = {"east-slope"};
  EXPECT_EQ(rig.says(0), "met 09:00-18:00");
  rig.plan().lit = {{"east-slope", rig.date(0) - std::chrono::days(7)}};
  EXPECT_EQ(rig.says(0), "blocked 09:00-18:00");
  ASSERT_EQ(rig.day(0).blocked_by.size(), 1u);
  EXPECT_EQ(rig.day(0).blocked_by[0].kind, "adjacent");
  EXPECT_EQ(rig.day(0).blocked_by[0].why, "east-slope beside it was lit on 2027-03-27");
  EXPECT_EQ(rig.day(0).blocked_by[0].until, "2028-03-26");
  rig.plan().lit = {{"east-slope", rig.date(0) - std::chrono::days(366)}};
  EXPECT_EQ(rig.says(0), "met 09:00-18:00") << "a year ago";
}

// A point in the shade of a gully, on three days without a cloud.
class Gully : public ::testing::Test {
 protected:
  Gully() {
    gully_.site.sheltered = true;
    shaded_ = {{of(gully_)}};
    in_the_open_ = of(open_);
    in_shade_m_h_ = highest(shaded_[0][0]);
    prescription_.within = ClockSpan{9h, 17h};
    prescription_.duration_h = 8;  // all of it
  }
  UnitHours of(const UnitTraits& unit) const {
    UnitHours hours = fair_hours(unit, nine_on(unit, date(2027, 4, 1)), 24 * 4);
    for (std::size_t i = 0; i < hours.hours; ++i) hours["precipitation_amount"].set(i, 0);
    enter_state(hours, date(2027, 4, 1));
    compute_all(hours);
    return hours;
  }
  static double highest(const UnitHours& hours) {
    double most = 0;
    for (std::size_t i = 0; i < hours.hours; ++i) most = std::max(most, static_cast<double>(hours["rate_of_spread"][i]));
    return most;
  }
  // Between what the fire does in the shade and what it does in the open.
  Limit spread(Kind kind, Scope scope = Scope::each_hour) const {
    return limit("rate_of_spread", at_most((in_shade_m_h_ + highest(in_the_open_)) / 2), scope, kind);
  }
  Verdict verdict() {
    const UtcTime now = shaded_[0][0].first.start();
    for (const Day& day : evaluate_days({&gully_, &prescription_, &plan_, now, now, shaded_}))
      if (day.date == date(2027, 4, 2)) return day.verdict;
    return Verdict::unknown;
  }

  UnitTraits gully_ = forest_unit(), open_ = forest_unit();
  std::vector<std::vector<UnitHours>> shaded_;
  UnitHours in_the_open_;
  double in_shade_m_h_ = 0;
  Prescription prescription_;
  UnitPlan plan_;
};
using HardCase_H29 = Gully;

TEST_F(HardCase_H29, StopsAndTheTailAreHeldAgainstTheLitterInTheOpenAndOtherLimitsAgainstItsShade) {
  ASSERT_GT(highest(in_the_open_), 1.05 * in_shade_m_h_);
  prescription_.limits = {spread(Kind::hard)};
  EXPECT_EQ(verdict(), Verdict::met);
  prescription_.limits = {spread(Kind::stop)};
  EXPECT_EQ(verdict(), Verdict::out);
  for (const Kind kind : {Kind::hard, Kind::stop}) {
    prescription_.limits = {limit("air_temperature", at_most(40)), spread(kind, Scope::days_after)};
    prescription_.limits[1].days = 1;
    EXPECT_EQ(verdict(), Verdict::out) << word(kind);
  }
  prescription_.limits[1].kind = Kind::preference;
  EXPECT_EQ(verdict(), Verdict::met);
}

TEST_F(HardCase_H29, WhatComesToABurnThatIsAlightIsThatOfTheLitterInTheOpen) {
  prescription_.limits = {spread(Kind::hard, Scope::days_after)};
  prescription_.limits[0].days = 1;
  const auto days = burn_days(gully_, prescription_, shaded_, shaded_[0][0].first.start());
  const auto on = [&](LocalDate wanted) {
    return *std::find_if(days.begin(), days.end(), [&](const BurnDay& day) { return day.date == wanted; });
  };
  EXPECT_EQ(on(date(2027, 4, 2)).tail, TailVerdict::out);
  ASSERT_EQ(on(date(2027, 4, 2)).broken.size(), 1u);
  EXPECT_GT(static_cast<double>(on(date(2027, 4, 2)).broken[0].value), in_shade_m_h_);
}

}  // namespace
}  // namespace hakea::test
