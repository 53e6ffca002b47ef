// The word of confidence, from what was measured.
#include "core/days/confidence.h"

#include <gtest/gtest.h>

#include "core/prescription/hour_fit.h"
#include "tests/support/day_rig.h"

namespace hakea::test {
namespace {

using namespace core;

TEST(Confidence, IsTheWordOfTheLeadWhereNothingSpeaksAgainstIt) {
  for (const auto& [lead, word] :
       {std::pair(0, Confidence::firm), std::pair(1, Confidence::firm), std::pair(2, Confidence::likely),
        std::pair(3, Confidence::likely), std::pair(4, Confidence::possible), std::pair(6, Confidence::possible),
        std::pair(7, Confidence::early)})
    EXPECT_EQ(confidence_of({.lead_days = lead,
                             .members = {10, 10},
                             .feeds = {2, 2},
                             .runs = {3, 3},
                             .keeps_margin = true,
                             .verified = Agreement{120, 120}}),
              word)
        << lead;
}

TEST(Confidence, FallsByAWordForEachThingThatWasMeasuredOtherwise) {
  const auto word = [](Evidence evidence) { return confidence_of(evidence); };
  Evidence e;
  e.members = {7, 10};
  EXPECT_EQ(word(e), Confidence::likely);
  e = {};
  e.feeds = {1, 2};
  EXPECT_EQ(word(e), Confidence::likely);
  e = {};
  e.runs = {2, 3};
  EXPECT_EQ(word(e), Confidence::firm) << "one of three may differ";
  e.runs = {1, 3};
  EXPECT_EQ(word(e), Confidence::likely);
  e.runs = {0, 1};
  EXPECT_EQ(word(e), Confidence::likely);
  e = {};
  e.keeps_margin = false;
  EXPECT_EQ(word(e), Confidence::likely);
  e.lead_days = 5;
  EXPECT_EQ(word(e), Confidence::possible) << "the word of the lead says as much";
  e.lead_days = 0;
  e.verified = Agreement{30, 100};
  EXPECT_EQ(word(e), Confidence::possible);
  e.feeds = {0, 1};
  e.members = {1, 2};
  e.runs = {0, 3};
  EXPECT_EQ(word(e), Confidence::early) << "there is no word below";
}

TEST(Confidence, RestsOnWhetherAQuarterOfAForecastErrorWouldUndoTheDay) {
  DayRig rig(2);
  rig.all("relative_humidity", 90).at("relative_humidity", 0, 10, "55 55 55 55");
  rig.at("relative_humidity", 1, 10, "37 37 37 37");  // a quarter of the error of ten is more than two
  rig.prescription().limits = {limit("relative_humidity", between(35, 75))};
  EXPECT_EQ(rig.day(0).rests_on.keeps_margin, true);
  EXPECT_EQ(rig.day(0).confidence, Confidence::firm);
  ASSERT_EQ(rig.day(1).verdict, Verdict::met);
  EXPECT_EQ(rig.day(1).rests_on.keeps_margin, false);
  EXPECT_EQ(rig.day(1).confidence, Confidence::likely);
}

TEST(Confidence, OfALongWindowIsNotLoweredByItsEdges) {
  DayRig rig(1);
  rig.all("relative_humidity", 90).at("relative_humidity", 0, 9, "76 74 60 55 50 45 41 36 34");
  rig.prescription().limits = {limit("relative_humidity", between(35, 75))};
  EXPECT_EQ(rig.says(0), "met 10:00-17:00");
  EXPECT_EQ(rig.day(0).rests_on.keeps_margin, true) << "from 11:00 to 16:00 there is room enough";
}

TEST(NarrowedLimit, OfASectorNarrowerThanTheErrorIsItsMiddle) {
  const Limit narrow = narrowed(sector_limit(350, 10), catalogue()[quantity_index("wind_from_direction")], 2);
  EXPECT_EQ(narrow.sectors.front().from, narrow.sectors.front().to);
  EXPECT_EQ(sector_fit(narrow.sectors, 0, 20, 5), Fit::in);
  EXPECT_EQ(sector_fit(narrow.sectors, 5, 20, 5), Fit::out);
}

}  // namespace
}  // namespace hakea::test
