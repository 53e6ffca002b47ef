// What became of burns, and what that makes of their units.
#include <gtest/gtest.h>

#include "service/input/fuel_table.h"
#include "service/input/unit_json.h"
#include "tests/support/api_rig.h"
#include "tests/support/must.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

class ApiOutcomes : public ApiTest {
 protected:
  Answer enter(const std::string& more, const std::string& unit = "sawpit-ridge", const std::string& date = "2027-03-29") {
    return rig->call("POST", "/outcomes", R"({"unit":")" + unit + R"(","date":")" + date + "\"," + more + "}");
  }
  Answer burn(const std::string& state) {
    return rig->call(
        "POST", "/bookings",
        R"({"unit":"sawpit-ridge","date":"2027-03-29","lit_at":"2027-03-29T10:00:00+11:00","state":")" + state + "\"}");
  }
  std::string unit(const std::string& pointer, const std::string& id = "sawpit-ridge") {
    return rig->get("/units/" + id).at("/properties" + pointer);
  }
};

TEST_F(ApiOutcomes, AnOutcomeWaitsUntilTheBurnIsClosedAndThenResetsTheFuel) {
  ASSERT_EQ(burn("patrol").status, 201);
  const Answer made = enter(R"("result":"treated","treated_ha":80,"coverage_pct":70,"scorch_m":4,
    "stopped":{"at":"2027-03-29T16:00:00+11:00","reason":"wind"})");
  ASSERT_EQ(made.status, 201) << made.text;
  EXPECT_EQ(made.header("Location"), "/api/v1/outcomes/o-0001");
  EXPECT_EQ(made.at("/booking"), R"("b-0002")");
  EXPECT_EQ(made.at("/by"), R"("coordinator")");
  EXPECT_EQ(made.at("/stopped"), R"({"at":"2027-03-29T16:00:00+11:00","reason":"wind"})");
  EXPECT_EQ(unit("/status"), R"("ready")") << "it still burns";
  EXPECT_EQ(unit("/fuel/age_years"), "9");

  const Answer closed = rig->call("PUT", "/bookings/b-0002", R"({"unit":"sawpit-ridge","date":"2027-03-29","state":"closed"})",
                                  {{"if-match", "*"}});
  ASSERT_EQ(closed.status, 200) << closed.text;
  EXPECT_EQ(unit("/status"), R"("treated")");
  EXPECT_EQ(unit("/fuel/age_years"), "0");
  EXPECT_EQ(unit("/fuel/age_as_of"), R"("2027-03-29")");
  EXPECT_EQ(unit("/fuel/load_t_ha"), "none") << "that load has burnt";
  const Answer audit = rig->get("/audit?limit=2");
  EXPECT_EQ(audit.at("/audit/0/action"), R"("outcome")");
  EXPECT_EQ(audit.at("/audit/0/object"), R"("unit/sawpit-ridge")");
  EXPECT_EQ(audit.at("/audit/0/reason"), R"("treated on 2027-03-29")");
  EXPECT_EQ(audit.at("/audit/0/before/properties/fuel/age_years"), "9");
  EXPECT_EQ(audit.at("/audit/1/reason"), R"("patrol to closed")");
}

TEST_F(ApiOutcomes, OfABurnThatIsOverItCountsAtOnce) {
  ASSERT_EQ(burn("closed").status, 201);
  EXPECT_EQ(unit("/fuel/age_years"), "9");
  ASSERT_EQ(enter(R"("result":"treated","treated_ha":80)").status, 201);
  EXPECT_EQ(unit("/fuel/age_as_of"), R"("2027-03-29")");
  const Answer days = rig->get("/units/sawpit-ridge/days");
  EXPECT_EQ(days.at("/days/0/verdict"), R"("blocked")");
  EXPECT_EQ(days.at("/days/0/blocked_by/0/why"), R"("the unit is treated")");
  // An older outcome that comes late makes it no older.
  ASSERT_EQ(enter(R"("result":"part_burnt","treated_ha":10)", "sawpit-ridge", "2027-03-01").status, 201);
  EXPECT_EQ(unit("/status"), R"("treated")");
}

TEST_F(ApiOutcomes, WhatBurntInPartIsOfferedAgainWithItsOldFuel) {
  ASSERT_EQ(burn("lit").status, 201);
  ASSERT_EQ(enter(R"("result":"part_burnt","treated_ha":30,"stopped":{"reason":"too moist"})").status, 201);
  EXPECT_EQ(unit("/status"), R"("part_burnt")");
  EXPECT_EQ(unit("/fuel/age_years"), "9");
  EXPECT_NE(rig->get("/units/sawpit-ridge/days").at("/days/0/verdict"), R"("blocked")");
}

TEST_F(ApiOutcomes, AfterAnEscapeAUnitIsNotReadyAndWhatWasNotLitIsAsBefore) {
  ASSERT_EQ(enter(R"("result":"escaped","treated_ha":200)").status, 201);
  EXPECT_EQ(unit("/status"), R"("not_ready")");
  EXPECT_EQ(unit("/fuel/age_years"), "0");
  const std::string before = rig->get("/units/lyrebird-gully").at("/revision");
  ASSERT_EQ(enter(R"("result":"not_lit","stopped":{"reason":"no crews"})", "lyrebird-gully").status, 201);
  EXPECT_EQ(rig->get("/units/lyrebird-gully").at("/revision"), before);
}

// An outcome that was entered, and how it is corrected.
class ApiCorrections : public ApiOutcomes {
 protected:
  Answer correct(const std::string& more, const std::string& id = "o-0001", const std::string& date = "2027-03-29",
                 const std::string& why = R"("reason":"the map was read wrongly",)") {
    return rig->call("PUT", "/outcomes/" + id, R"({"unit":"sawpit-ridge",)" + why + R"("date":")" + date + "\"," + more + "}",
                     {{"if-match", match}});
  }
  std::string fuel() { return unit("/status") + " " + unit("/fuel/age_years") + " " + unit("/fuel/load_t_ha"); }
  std::string match = "*";
};

TEST_F(ApiCorrections, ACorrectedOutcomeIsARevisionWithItsReasonAndItsUnitFollows) {
  const std::string before = fuel();
  ASSERT_EQ(before, R"("ready" 9 12)");
  ASSERT_EQ(enter(R"("result":"treated","treated_ha":80)").status, 201);
  ASSERT_EQ(fuel(), R"("treated" 0 none)");

  const Answer part = correct(R"("result":"part_burnt","treated_ha":30)");
  ASSERT_EQ(part.status, 200) << part.text;
  EXPECT_EQ(part.header("ETag"), "\"r2\"");
  EXPECT_EQ(part.at("/result"), R"("part_burnt")");
  EXPECT_EQ(part.at("/corrected/by"), R"("coordinator")");
  EXPECT_EQ(part.at("/corrected/reason"), R"("the map was read wrongly")");
  EXPECT_EQ(fuel(), R"("part_burnt" 9 12)") << "what is left is as old as before";
  EXPECT_EQ(unit("/fuel/age_as_of"), "none");
  const Answer audit = rig->get("/audit?limit=2");
  EXPECT_EQ(audit.at("/audit/1/action"), R"("correct")");
  EXPECT_EQ(audit.at("/audit/1/object"), R"("outcome/o-0001")");
  EXPECT_EQ(audit.at("/audit/1/reason"), R"("the map was read wrongly")");
  EXPECT_EQ(audit.at("/audit/1/before/result"), R"("treated")");
  EXPECT_EQ(audit.at("/audit/0/object"), R"("unit/sawpit-ridge")");
  EXPECT_EQ(audit.at("/audit/0/reason"), R"("part_burnt on 2027-03-29, corrected from treated on 2027-03-29")");

  ASSERT_EQ(correct(R"("result":"treated","treated_ha":85)", "o-0001", "2027-03-28").status, 200);
  EXPECT_EQ(fuel(), R"("treated" 0 none)");
  EXPECT_EQ(unit("/fuel/age_as_of"), R"("2027-03-28")");
  ASSERT_EQ(correct(R"("result":"not_lit")").status, 200);
  EXPECT_EQ(fuel(), before) << "as if nothing had been entered";
  EXPECT_EQ(rig->get("/outcomes/o-0001").at("/revision"), "4");
}

TEST_F(ApiCorrections, WhatPeopleEnteredOfTheUnitSinceStays) {
  ASSERT_EQ(enter(R"("result":"treated","treated_ha":80)").status, 201);
  ASSERT_EQ(rig->call("PATCH", "/units/sawpit-ridge", R"({"properties":{"status":"ready","fuel":{"load_t_ha":3}}})",
                      {{"if-match", "*"}, {"content-type", "application/merge-patch+json"}})
                .status,
            200);
  ASSERT_EQ(fuel(), R"("ready" 0 3)");
  ASSERT_EQ(correct(R"("result":"not_lit")").status, 200);
  EXPECT_EQ(fuel(), R"("ready" 9 3)");
}

TEST_F(ApiCorrections, OtherOutcomesOfTheUnitCountAsBefore) {
  ASSERT_EQ(enter(R"("result":"part_burnt","treated_ha":30)").status, 201);
  ASSERT_EQ(enter(R"("result":"treated","treated_ha":80)", "sawpit-ridge", "2027-03-30").status, 201);
  const std::string revision = rig->get("/units/sawpit-ridge").at("/revision");
  ASSERT_EQ(correct(R"("result":"not_lit")").status, 200);
  EXPECT_EQ(fuel(), R"("treated" 0 none)");
  EXPECT_EQ(rig->get("/units/sawpit-ridge").at("/revision"), revision) << "nothing of it changes";
  ASSERT_EQ(correct(R"("result":"part_burnt","treated_ha":20)", "o-0002", "2027-03-30").status, 200);
  EXPECT_EQ(fuel(), R"("part_burnt" 9 12)");
  ASSERT_EQ(correct(R"("result":"not_lit")", "o-0002", "2027-03-30").status, 200);
  EXPECT_EQ(fuel(), R"("ready" 9 12)") << "the first was corrected before";
}

TEST_F(ApiCorrections, OfABurnThatIsStillOpenItWaitsToo) {
  ASSERT_EQ(burn("patrol").status, 201);
  ASSERT_EQ(enter(R"("result":"treated","treated_ha":80)").status, 201);
  ASSERT_EQ(correct(R"("result":"escaped","treated_ha":200)").status, 200);
  EXPECT_EQ(fuel(), R"("ready" 9 12)");
  ASSERT_EQ(
      rig->call("PUT", "/bookings/b-0002", R"({"unit":"sawpit-ridge","date":"2027-03-29","state":"closed"})", {{"if-match", "*"}})
          .status,
      200);
  EXPECT_EQ(fuel(), R"("not_ready" 0 none)");
}

TEST_F(ApiCorrections, ItTakesAReasonTheRevisionReadAndTheSameUnit) {
  ASSERT_EQ(enter(R"("result":"treated","treated_ha":80)").status, 201);
  EXPECT_EQ(correct(R"("result":"not_lit")", "o-0001", "2027-03-29", "").mistakes(), Strings{"/reason required"});
  EXPECT_EQ(
      rig->call("PUT", "/outcomes/o-0001?reason=moved", R"({"unit":"lyrebird-gully","date":"2027-03-29","result":"treated"})")
          .mistakes(),
      Strings{"/unit fixed"});
  match = "\"r2\"";
  EXPECT_EQ(correct(R"("result":"not_lit")").status, 412);
  rig->use_token(rig->token(Role::officer));
  match.clear();
  EXPECT_EQ(correct(R"("result":"not_lit")").status, 428);
  EXPECT_EQ(correct(R"("result":"not_lit")", "o-0009").status, 404);
  EXPECT_EQ(fuel(), R"("treated" 0 none)");
}

TEST_F(ApiOutcomes, AllMistakesAreNamed) {
  EXPECT_EQ(
      enter(R"("result":"burnt","coverage_pct":170,"colour":1,"stopped":{})").mistakes(),
      (Strings{"/colour unknown_member", "/coverage_pct out_of_range", "/result unknown_word", "/stopped/reason required"}));
  EXPECT_EQ(enter(R"("result":"treated","treated_ha":86)").mistakes(), Strings{"/treated_ha out_of_range"});
  EXPECT_EQ(enter(R"("result":"treated","treated_ha":0)").mistakes(), Strings{"/treated_ha contradictory"});
  EXPECT_EQ(enter(R"("result":"not_lit","treated_ha":5)").mistakes(), Strings{"/treated_ha contradictory"});
  EXPECT_EQ(enter(R"("result":"treated")", "sawpit-ridge", "2027-04-02").mistakes(), Strings{"/date in_the_future"});
  EXPECT_EQ(enter(R"("result":"treated")", "nowhere").mistakes(), Strings{"/unit unknown_unit"});
  EXPECT_EQ(rig->get("/outcomes").at("/outcomes"), "[]");
}

TEST_F(ApiOutcomes, AreFoundByUnitResultAndDateAndAViewerMayNotEnterThem) {
  ASSERT_EQ(enter(R"("result":"not_lit")").status, 201);
  ASSERT_EQ(enter(R"("result":"treated","treated_ha":20)", "lyrebird-gully", "2027-03-01").status, 201);
  EXPECT_EQ(rig->get("/outcomes").body.at("outcomes").as_array().size(), 2U);
  EXPECT_EQ(rig->get("/outcomes?unit=lyrebird-gully").at("/outcomes/0/id"), R"("o-0002")");
  EXPECT_EQ(rig->get("/outcomes?result=not_lit&from=2027-03-29").at("/outcomes/0/id"), R"("o-0001")");
  EXPECT_EQ(rig->get("/outcomes?to=2027-02-28").at("/outcomes"), "[]");
  EXPECT_EQ(rig->get("/outcomes/o-0002").at("/result"), R"("treated")");
  EXPECT_EQ(rig->get("/outcomes/o-0009").status, 404);
  rig->use_token(rig->token(Role::viewer));
  EXPECT_EQ(enter(R"("result":"not_lit")").status, 403);
}

TEST(FuelAge, IsCountedFromTheDateOfTheFire) {
  const auto age = [](const std::string& fuel, const char* now) {
    const std::string text = R"({"type":"Feature","id":"u","geometry":{"type":"Point","coordinates":[152.6,-37.7]},
      "properties":{"time_zone":"Australia/Sydney","fuel":)" +
                             fuel + "}}";
    return must(parse_units_at(must(parse_instant(now)), text, built_in_fuels())).front().traits.fuel.age_years;
  };
  const std::string burnt = R"({"type":"buttongrass-moorland","age_years":0,"age_as_of":"2027-03-29"})";
  EXPECT_EQ(age(burnt, "2027-03-29T23:00:00+11:00"), 0);
  EXPECT_EQ(age(burnt, "2027-03-30T00:00:00+11:00"), 1 / 365.25) << "by the unit's own date";
  EXPECT_EQ(age(burnt, "2031-03-29T12:00:00+11:00"), 4) << "1461 days";
  EXPECT_EQ(age(R"({"type":"buttongrass-moorland","age_years":9})", "2031-03-29T12:00:00+11:00"), 9);
  EXPECT_EQ(age(R"({"type":"buttongrass-moorland","age_years":9,"age_as_of":"2027-03-29"})", "2031-03-29T12:00:00+11:00"), 13);
}

TEST_F(ApiOutcomes, FuelDescribedSinceHasNotBurntSince) {
  ASSERT_EQ(
      rig->call("PATCH", "/units/sawpit-ridge", R"({"properties":{"fuel":{"age_as_of":"2027-03-30"}}})", {{"if-match", "*"}})
          .status,
      200);
  ASSERT_EQ(burn("closed").status, 201);
  ASSERT_EQ(enter(R"("result":"treated","treated_ha":80)").status, 201);
  EXPECT_EQ(unit("/status"), R"("treated")");
  EXPECT_EQ(unit("/fuel/age_as_of"), R"("2027-03-29")");
}

}  // namespace
}  // namespace hakea::test
