// Windows, verdicts, fit and rank on hours written by hand. Cases named H… are the hard cases of the trade.
#include <gtest/gtest.h>

#include "core/catalogue/catalogue.h"
#include "core/days/feeds.h"
#include "core/prescription/hour_fit.h"
#include "tests/support/day_rig.h"

namespace hakea::test {
namespace {

using namespace core;
using namespace std::chrono_literals;
using std::chrono::year;

constexpr float kNaN = std::numeric_limits<float>::quiet_NaN();

TEST(HardCase, H1_ASectorThroughNorthHoldsBothEndsAndNothingBeyond) {
  const std::vector<Sector> sector{{290, 70}};
  for (const float inside : {290.f, 359.f, 0.f, 70.f}) EXPECT_EQ(sector_fit(sector, inside, 12.f, 5), Fit::in) << inside;
  for (const float outside : {289.f, 71.f, 180.f}) EXPECT_EQ(sector_fit(sector, outside, 12.f, 5), Fit::out) << outside;
}

TEST(HardCase, H3_AWindTooLightToHoldADirectionIsOutOfAnySector) {
  const std::vector<Sector> sector{{0, 90}};
  EXPECT_EQ(sector_fit(sector, 45.f, 4.9f, 5), Fit::out);
  EXPECT_EQ(sector_fit(sector, 45.f, 5.0f, 5), Fit::in);
  EXPECT_EQ(sector_fit(sector, 45.f, kNaN, 5), Fit::unknown);
  EXPECT_EQ(sector_fit(sector, 180.f, kNaN, 5), Fit::out) << "out of every sector, whatever the speed";
  EXPECT_EQ(sector_fit(sector, kNaN, 12.f, 5), Fit::unknown);
}

TEST(HardCase, H4_AWindowAcrossMidnightIsOneAndBelongsToTheDateItStartsOn) {
  DayRig rig(3);
  rig.all("relative_humidity", 55);
  rig.prescription().within = ClockSpan{19h, 2h};
  rig.prescription().duration_h = 6;
  rig.prescription().limits = {limit("relative_humidity", between(35, 75))};
  EXPECT_EQ(rig.says(0), "met 19:00-02:00");
  EXPECT_EQ(rig.day(0).windows.front().hours(), 7);
}

// South-east Australian rule: summer time ends on 4 April 2027 at 03:00, begins on 3 October.
TimeZone changing_zone() {
  const UtcTime end = std::chrono::sys_days(year(2027) / 4 / 3) + 16h;
  return TimeZone("test", {{UtcTime::min(), 11h, 10h}, {end, 10h, 10h}});
}

TEST(HardCase, H5_HoursAreElapsedTimeOverTheChangeOfTheClock) {
  DayRig rig(3, changing_zone());
  rig.all("relative_humidity", 55);
  rig.prescription().within = ClockSpan{19h, 4h};
  rig.prescription().duration_h = 10;
  rig.prescription().limits = {limit("relative_humidity", between(35, 75))};
  EXPECT_EQ(rig.says(0), "met 19:00-04:00");
  EXPECT_EQ(rig.day(0).windows.front().hours(), 10);
  EXPECT_EQ(rig.says(1), "near_miss") << "other nights have nine";
}

TEST(HardCase, H6_AnHourThatIsUnknownMakesAWindowUnconfirmedAndNeverMet) {
  DayRig rig(1);
  rig.all("relative_humidity", 90).at("relative_humidity", 0, 10, "55 55 - 55 55");
  rig.prescription().duration_h = 4;
  rig.prescription().limits = {limit("relative_humidity", between(35, 75))};
  EXPECT_EQ(rig.says(0), "unknown 10:00-15:00?");
  ASSERT_EQ(rig.day(0).missing.size(), 1u);
  EXPECT_EQ(rig.day(0).missing.front().reason, Reason::gap);
}

TEST(HardCase, H12_ARunTooShortIsANearMissBelowAnyFullWindow) {
  DayRig rig(2);
  rig.all("relative_humidity", 90).at("relative_humidity", 0, 12, "55 55 55 55").at("relative_humidity", 1, 12, "55 55 55 55 55");
  rig.prescription().duration_h = 5;
  rig.prescription().limits = {limit("relative_humidity", between(35, 75))};
  EXPECT_EQ(rig.says(0), "near_miss");
  EXPECT_EQ(
      rig.day(0).why,
      "Saturday 12:00–16:00, four hours, too short by one hour; opens when relative humidity falls to 75 %; closes when relative "
      "humidity passes 75 %; relative humidity is 90 %, needs 35 to 75 %");
  EXPECT_EQ(rig.says(1), "met 12:00-17:00");
  EXPECT_LT(*rig.day(0).fit, *rig.day(1).fit);
  EXPECT_EQ(rig.days().front().date, rig.date(1));
}

TEST(HardCase, H13_OneBadHourInTheMiddleIsNamed) {
  DayRig rig(1);
  rig.all("relative_humidity", 90)
      .at("relative_humidity", 0, 10, "55 55 55 55 55")
      .all("air_temperature", 20)
      .at("air_temperature", 0, 12, "31");
  rig.prescription().duration_h = 4;
  rig.prescription().limits = {limit("air_temperature", at_most(25)), limit("relative_humidity", between(35, 75))};
  const Day day = rig.day(0);
  EXPECT_EQ(day.verdict, Verdict::out);
  ASSERT_TRUE(day.limiting);
  EXPECT_EQ(day.limiting->limit, 0u);
  EXPECT_FLOAT_EQ(*day.limiting->value, 31);
  EXPECT_DOUBLE_EQ(*day.limiting->margin, -6);
  EXPECT_EQ(*day.limiting->gain_h, 3);
}

TEST(Feeds, OneThatDoesNotKnowDoesNotDisagree) {
  DayRig fine(2);
  fine.all("relative_humidity", 90).at("relative_humidity", 0, 10, "55 55 55 55 55");
  fine.prescription().limits = {limit("relative_humidity", between(35, 75))};
  const auto of_fine = judged_alone("fine", "f1", fine.first(), fine.end(), fine.days());
  auto other = judged_alone("coarse", "c1", fine.first(), fine.end(), fine.days());
  const auto confidence_beside = [&](Verdict verdict) {
    for (auto& on : other.dates) on.verdict = on.weather = verdict;
    const auto joined = join_feeds(fine.days(), {of_fine, other});
    return std::find_if(joined.begin(), joined.end(), [&](const Day& d) { return d.date == fine.date(0); })->confidence;
  };
  EXPECT_EQ(confidence_beside(Verdict::met), Confidence::firm);
  EXPECT_EQ(confidence_beside(Verdict::unknown), Confidence::firm);
  EXPECT_EQ(confidence_beside(Verdict::out), Confidence::likely);
}

TEST(HardCase, H14_FeedsThatDisagreeAreShownSideBySideAndTheWorseTailCounts) {
  DayRig fine(2), coarse(2);
  for (DayRig* rig : {&fine, &coarse}) {
    rig->all("relative_humidity", 90).at("relative_humidity", 0, 10, "55 55 55 55 55").all("ffdi", 3);
    rig->prescription().limits = {limit("relative_humidity", between(35, 75)),
                                  limit("ffdi", below(24), Scope::days_after, Kind::stop)};
    rig->prescription().limits[1].days = 1;
  }
  coarse.at("ffdi", 1, 15, "45");
  ASSERT_EQ(fine.day(0).verdict, Verdict::met);
  const auto of_fine = judged_alone("fine", "f1", fine.first(), fine.end(), fine.days());
  const auto of_coarse = judged_alone("coarse", "c1", coarse.first(), coarse.end(), coarse.days());
  fine.heed(coarse);
  const auto joined = join_feeds(fine.days(), {of_fine, of_coarse});
  const Day& day = *std::find_if(joined.begin(), joined.end(), [&](const Day& d) { return d.date == fine.date(0); });
  EXPECT_EQ(day.verdict, Verdict::out);
  EXPECT_EQ(day.tail.verdict, TailVerdict::out);
  ASSERT_EQ(day.feeds.size(), 2u);
  EXPECT_EQ(day.feeds[0].verdict, Verdict::met);
  EXPECT_EQ(day.feeds[1].verdict, Verdict::out);
  EXPECT_EQ(day.confidence, Confidence::likely) << "one word less than the lead alone would say";
  EXPECT_EQ(day.tail.worst->value, 45) << "shown is the value of the feed that decides";
  ASSERT_TRUE(day.limiting);
  EXPECT_EQ(day.limiting->limit, 1u);
  EXPECT_TRUE(day.limiting->alone);

  // A feed that ends before the window does is not asked; what is unknown in another feed does not unsettle this one.
  const auto cut = judged_alone("coarse", "c1", coarse.first(), coarse.first() + 12, coarse.days());
  EXPECT_EQ(join_feeds(fine.days(), {of_fine, cut}).front().feeds.size(), 1u);
  coarse.at("ffdi", 1, 15, "-");
  EXPECT_EQ(fine.day(0).verdict, Verdict::met);
}

// JOB 7 H14: hazards take the worse of the feeds; a wind change that one of them brings is one.
TEST(HardCase, H14_AStopThatFailsInOneFeedCountsAndAHardLimitDoesNot) {
  DayRig fine(2), coarse(2);
  for (DayRig* rig : {&fine, &coarse}) {
    rig->all("relative_humidity", 90).at("relative_humidity", 0, 10, "55 55 55 55 55").all("wind_shift", 5);
    rig->prescription().limits = {limit("relative_humidity", between(35, 75)),
                                  limit("wind_shift", at_most(45), Scope::each_hour, Kind::stop)};
  }
  coarse.at("relative_humidity", 0, 10, "90 90");
  fine.heed(coarse);
  ASSERT_EQ(fine.day(0).verdict, Verdict::met) << "what the coarse feed says of the humidity is its own verdict";
  coarse.at("wind_shift", 0, 12, "80");
  EXPECT_EQ(fine.day(0).verdict, Verdict::out);
  ASSERT_TRUE(fine.day(0).short_stretch);
  EXPECT_EQ(fine.day(0).short_stretch->closes.limit, 1u);
  EXPECT_EQ(fine.day(0).short_stretch->closes.value, 80) << "shown is the value of the feed that decides";
  coarse.at("wind_shift", 0, 12, "-");
  EXPECT_EQ(fine.day(0).verdict, Verdict::met) << "what is unknown in another feed unsettles nothing";
}

TEST(HardCase, H15_AWindowOpenAtTheHorizonIsOpenEndedAndItsTailUnknown) {
  DayRig rig(1);
  rig.all("relative_humidity", 55).all("ffdi", 3);
  rig.prescription().within = ClockSpan{20h, 4h};
  rig.prescription().limits = {limit("relative_humidity", between(35, 75))};
  EXPECT_EQ(rig.says(0), "met 20:00-00:00+");
  rig.prescription().limits.push_back(limit("ffdi", below(24), Scope::days_after, Kind::stop));
  rig.prescription().limits[1].days = 1;
  EXPECT_EQ(rig.says(0), "unknown 20:00-00:00+");
  EXPECT_EQ(rig.day(0).tail.verdict, TailVerdict::unknown);
}

TEST(HardCase, H22_ADryFrontAfterwardsPutsTheNicerDaySecond) {
  DayRig rig(4);
  rig.all("relative_humidity", 90)
      .at("relative_humidity", 0, 10, "50 50 50 50 50")
      .at("relative_humidity", 1, 10, "55 55 55 55 55 55 55");
  rig.all("ffdi", 3).at("ffdi", 3, 15, "45");
  rig.prescription().limits = {limit("relative_humidity", between(35, 75)),
                               limit("ffdi", below(24), Scope::days_after, Kind::stop)};
  rig.prescription().limits[1].days = 2;
  EXPECT_EQ(rig.says(0), "met 10:00-15:00");
  EXPECT_EQ(rig.says(1), "out 10:00-17:00");
  ASSERT_TRUE(rig.day(0).tail.beyond);
  EXPECT_FLOAT_EQ(rig.day(0).tail.beyond->value, 45) << "the screen shows the worse day just beyond";
}

TEST(HardCase, H23_LimitsThatNeverHoldTogetherNameTheOneThatWouldGainMost) {
  DayRig rig(1);
  rig.all("relative_humidity", 70).all("litter_moisture", 14);
  rig.prescription().limits = {limit("relative_humidity", between(60, 80)), limit("litter_moisture", at_most(8))};
  const Day day = rig.day(0);
  EXPECT_EQ(day.verdict, Verdict::out);
  ASSERT_TRUE(day.limiting);
  EXPECT_EQ(day.limiting->limit, 1u);
  EXPECT_TRUE(day.limiting->alone);
}

TEST(HardCase, H27_AValueOutsideItsModelsDomainMayFailALimitButNeverPassesOne) {
  DayRig rig(1);
  rig.all("ffdi", 3).flag("ffdi", 0, 9, 9, flag::kOutOfDomain);
  rig.prescription().limits = {limit("ffdi", at_most(11))};
  EXPECT_EQ(rig.says(0), "unknown 09:00-18:00?");
  EXPECT_EQ(rig.day(0).missing.front().reason, Reason::out_of_domain);
  rig.all("ffdi", 30).flag("ffdi", 0, 9, 9, flag::kOutOfDomain);
  EXPECT_EQ(rig.says(0), "out");
}

TEST(HardCase, H30_DaysAreThoseOfTheUnitsOwnZone) {
  DayRig east(2), west(2, TimeZone::fixed("west", -5h));
  for (DayRig* rig : {&east, &west}) {
    rig->all("relative_humidity", 90).at("relative_humidity", 0, 10, "55 55 55 55");
    rig->prescription().limits = {limit("relative_humidity", between(35, 75))};
    EXPECT_EQ(rig->says(0), "met 10:00-14:00");
  }
  EXPECT_EQ(west.day(0).windows.front().start - east.day(0).windows.front().start, 15);
}

TEST(Members, TheVerdictIsThatOfMoreThanHalfOfThem) {
  DayRig rig(1);
  rig.all("relative_humidity", 90).at("relative_humidity", 0, 10, "55 55 55 55");
  rig.prescription().limits = {limit("relative_humidity", between(35, 75))};
  rig.add_member();
  UnitHours& dry = rig.add_member();
  for (std::size_t i = 0; i < dry.hours; ++i) dry["relative_humidity"].set(i, 20);
  EXPECT_EQ(rig.day(0).verdict, Verdict::met);
  EXPECT_EQ(rig.day(0).members->met, 2);
  EXPECT_EQ(rig.day(0).members->of, 3);
  UnitHours& dry_too = rig.add_member();
  for (std::size_t i = 0; i < dry_too.hours; ++i) dry_too["relative_humidity"].set(i, 20);
  EXPECT_EQ(rig.day(0).verdict, Verdict::unknown) << "two of four is not more than half";
}

// Tightening a prescription never adds an hour, and making weather unknown never turns an hour in.
TEST(Days, TighterLimitsAndUnknownHoursNeverHelp) {
  for (unsigned seed = 1; seed <= 40; ++seed) {
    SCOPED_TRACE(seed);
    unsigned state = seed * 2654435761u;
    const auto next = [&] { return (state = state * 1664525u + 1013904223u) >> 16; };
    DayRig rig(2);
    for (std::size_t i = 0; i < rig.record().hours; ++i) rig.record()["relative_humidity"].set(i, 30 + next() % 50);
    rig.prescription().limits = {limit("relative_humidity", between(35, 75))};
    const auto hours_met = [&] {
      int hours = 0;
      for (const Day& d : rig.days())
        for (const Window& w : d.windows)
          if (!w.unconfirmed) hours += w.hours();
      return hours;
    };
    const auto was_met = [&](int n) { return rig.day(n).verdict == Verdict::met; };
    const bool first = was_met(0), second = was_met(1);
    const int before = hours_met();
    rig.prescription().limits[0] = limit("relative_humidity", between(40, 70));
    EXPECT_LE(hours_met(), before);
    EXPECT_LE(was_met(0), first);
    EXPECT_LE(was_met(1), second);
    rig.prescription().limits[0] = limit("relative_humidity", between(35, 75));
    for (int k = 0; k < 6; ++k) rig.record()["relative_humidity"].set_missing(next() % rig.record().hours, Reason::gap);
    EXPECT_LE(hours_met(), before);
  }
}

TEST(Fit, PartsAddUpToTheFit) {
  DayRig rig(1);
  rig.all("air_temperature", 24).all("wind_gust", 30).at("air_temperature", 0, 9, "30 30 24 23 22 21 30 30 30");
  rig.prescription().limits = {limit("air_temperature", between(10, 25)),
                               limit("wind_gust", at_most(12), Scope::each_hour, Kind::preference)};
  rig.prescription().limits[0].preferred = between(15, 22);
  const Day day = rig.day(0);
  double sum = 0;
  for (const Part& p : day.parts) sum += p.points;
  EXPECT_NEAR(sum, *day.fit, 0.005);
  EXPECT_EQ(day.notes.size(), 1u);
}

}  // namespace
}  // namespace hakea::test
