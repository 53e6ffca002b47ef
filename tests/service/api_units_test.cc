// Units, prescriptions, trials, hours, days and districts through the interface.
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/support/api_rig.h"
#include "tests/support/must.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

using ApiUnits = ApiTest;

const char* const kNewUnit = R"({"type":"Feature","id":"far-paddock","geometry":{"type":"Polygon","coordinates":[[[152.6,-37.7],
  [152.61,-37.7],[152.61,-37.71],[152.6,-37.7]]]},"properties":{"name":"Far Paddock","district":"tallowmere",
  "time_zone":"Australia/Sydney","prescription":{"limits":[]}}})";

void expect_standing(const Answer& answer) {
  EXPECT_EQ(answer.at("/run/id"), R"("fine.2027-03-29T12:00:00Z")");
  EXPECT_EQ(answer.at("/freshness"), R"("current")");
  for (const char* said :
       {"Demo data. Fictional district.", "Forecast guidance only.", "Forecast made 2027-03-29T12:30:00Z, 7 h old."})
    EXPECT_NE(answer.at("/caution").find(said), std::string::npos) << answer.at("/caution");
}

TEST_F(ApiUnits, AreListedAsGeoJson) {
  const Answer all = rig->get("/units");
  EXPECT_EQ(all.at("/type"), R"("FeatureCollection")");
  EXPECT_EQ(all.body.at("features").as_array().size(), 16u);
  EXPECT_EQ(all.at("/features/0/revision"), "1");
  expect_standing(all);
  EXPECT_EQ(rig->get("/units?district=elsewhere").at("/features"), "[]");
  EXPECT_LT(rig->get("/units?status=ready").body.at("features").as_array().size(), 16u);
}

TEST_F(ApiUnits, OneIsServedWithItsRevisionAndPrescription) {
  const Answer unit = rig->get("/units/sawpit-ridge");
  EXPECT_EQ(unit.status, 200);
  EXPECT_EQ(unit.type, "application/geo+json");
  EXPECT_TRUE(unit.header("ETag").starts_with("\"r1.")) << unit.header("ETag");
  EXPECT_EQ(unit.at("/properties/name"), R"("Sawpit Ridge")");
  EXPECT_NE(unit.at("/properties/prescription/limits"), "none");
  expect_standing(unit);
  EXPECT_EQ(rig->get("/units/nowhere").status, 404);
}

TEST_F(ApiUnits, ANewOneIsStoredJudgedAndServed) {
  const Answer made = rig->call("POST", "/units", kNewUnit);
  ASSERT_EQ(made.status, 201) << made.text;
  EXPECT_EQ(made.header("Location"), "/api/v1/units/far-paddock");
  EXPECT_EQ(rig->get("/units/far-paddock").at("/properties/name"), R"("Far Paddock")");
  EXPECT_EQ(rig->get("/units/far-paddock/prescription").at("/revision"), "1");
  EXPECT_EQ(rig->call("POST", "/units", kNewUnit).status, 409);
}

TEST_F(ApiUnits, AllMistakesOfOneAreNamedWithPointers) {
  const Answer refused =
      rig->call("POST", "/units", R"({"type":"Feature","id":"Bad Id","geometry":{"type":"Polygon","coordinates":[[[1,2]]]},
    "properties":{"district":"tallowmere","time_zone":"Nowhere/Town","priority":9,"colour":"red"}})");
  EXPECT_EQ(refused.status, 422);
  EXPECT_EQ(refused.mistakes(),
            (Strings{"/geometry/coordinates/0 ring_not_closed", "/id not_a_slug", "/properties/colour unknown_member",
                     "/properties/priority out_of_range", "/properties/time_zone unknown_time_zone"}));
  EXPECT_EQ(rig->call("POST", "/units", "[]").status, 422);
}

TEST_F(ApiUnits, APointAndAnUnknownDistrictAreRefused) {
  const Answer refused =
      rig->call("POST", "/units", R"({"type":"Feature","id":"a","geometry":{"type":"Point","coordinates":[152,-37]},
    "properties":{"district":"nowhere","time_zone":"Australia/Sydney"}})");
  EXPECT_EQ(refused.mistakes(), (Strings{"/geometry/type not_an_area", "/properties/district unknown_district"}));
}

TEST_F(ApiUnits, WhatWasReadMayBeSentBackChanged) {
  Answer read = rig->get("/units/sawpit-ridge");
  read.body.at("properties").as_object()["priority"] = 5;
  const Answer put = rig->call("PUT", "/units/sawpit-ridge", json::serialize(read.body), {{"if-match", read.header("ETag")}});
  ASSERT_EQ(put.status, 200) << put.text;
  EXPECT_EQ(put.header("ETag"), "\"r2\"");
  EXPECT_EQ(put.at("/properties/priority"), "5");
  EXPECT_EQ(rig->get("/units/sawpit-ridge/prescription").at("/revision"), "1") << "it came along unchanged";
  EXPECT_EQ(rig->call("PUT", "/units/old-tramway", json::serialize(read.body)).mistakes(), Strings{"/id different_id"});
}

TEST_F(ApiUnits, APatchChangesWhatItNames) {
  const Answer patched = rig->call("PATCH", "/units/sawpit-ridge", R"({"properties":{"status":"not_ready","aspect_deg":null}})",
                                   {{"content-type", "application/merge-patch+json"}});
  ASSERT_EQ(patched.status, 200) << patched.text;
  EXPECT_EQ(patched.at("/properties/status"), R"("not_ready")");
  EXPECT_EQ(patched.at("/properties/aspect_deg"), "none");
  EXPECT_EQ(patched.at("/properties/name"), R"("Sawpit Ridge")");
  EXPECT_EQ(verdict("sawpit-ridge", "2027-04-02"), "blocked");
  EXPECT_EQ(rig->call("PATCH", "/units/sawpit-ridge", R"({"properties":{"status":"lost"}})").mistakes(),
            Strings{"/properties/status unknown_word"});
}

TEST_F(ApiUnits, ALostRaceIsTold) {
  const std::string patch = R"({"properties":{"priority":1}})";
  EXPECT_EQ(rig->call("PATCH", "/units/sawpit-ridge", patch, {{"if-match", "\"r7\""}}).status, 412);
  EXPECT_EQ(rig->call("PATCH", "/units/sawpit-ridge", patch, {{"if-match", "W/\"r1\""}}).status, 412) << "weak tags never match";
  EXPECT_EQ(rig->call("PATCH", "/units/sawpit-ridge", patch, {{"if-match", "\"r9\", \"r1\""}}).status, 200);
  EXPECT_EQ(rig->call("PUT", "/units/sawpit-ridge", kNewUnit, {{"if-none-match", "*"}}).status, 422);
}

TEST_F(ApiUnits, ATokenCallerMustSayWhichRevisionItReplaces) {
  rig->use_token(rig->token(Role::coordinator));
  const std::string patch = R"({"properties":{"priority":1}})";
  EXPECT_EQ(rig->call("PATCH", "/units/sawpit-ridge", patch).status, 428);
  EXPECT_EQ(rig->call("DELETE", "/units/sawpit-ridge").status, 428);
  EXPECT_EQ(rig->call("PATCH", "/units/sawpit-ridge", patch, {{"if-match", "\"r1\""}}).status, 200);
}

TEST_F(ApiUnits, DeletingRetires) {
  EXPECT_EQ(rig->call("DELETE", "/units/sawpit-ridge").status, 204);
  EXPECT_EQ(rig->get("/units").body.at("features").as_array().size(), 15u);
  EXPECT_EQ(rig->get("/units/sawpit-ridge").at("/properties/status"), R"("retired")");
  EXPECT_EQ(rig->get("/units/sawpit-ridge/days").at("/type"), R"("/problems/retired")");
  EXPECT_EQ(rig->get("/units?status=retired").body.at("features").as_array().size(), 1u);
  EXPECT_EQ(rig->get("/audit?limit=1").at("/audit/0/action"), R"("retire")");
}

TEST_F(ApiUnits, APrescriptionIsServedAndReplacedByRevision) {
  const Answer read = rig->get("/units/sawpit-ridge/prescription");
  EXPECT_TRUE(read.header("ETag").starts_with("\"r1.")) << read.header("ETag");
  EXPECT_EQ(read.at("/revision"), "1");
  EXPECT_EQ(read.at("/duration_h"), "5");
  expect_standing(read);
  json::value changed = read.body;
  changed.as_object()["duration_h"] = 2;
  const Answer put = rig->call("PUT", "/units/sawpit-ridge/prescription", json::serialize(changed), {{"if-match", "\"r1\""}});
  ASSERT_EQ(put.status, 200) << put.text;
  EXPECT_EQ(put.at("/revision"), "2");
  EXPECT_EQ(rig->get("/units/sawpit-ridge/prescription").at("/duration_h"), "2");
  EXPECT_EQ(rig->call("PUT", "/units/sawpit-ridge/prescription", json::serialize(changed), {{"if-match", "\"r1\""}}).status, 412);
}

TEST_F(ApiUnits, AnEdgingPrescriptionStandsBesideTheMainOne) {
  EXPECT_EQ(rig->get("/units/windrow-flat/prescription?which=edging").status, 404);
  EXPECT_EQ(rig->call("PUT", "/units/windrow-flat/prescription?which=edging", R"({"limits":[]})").status, 201);
  EXPECT_EQ(rig->get("/units/windrow-flat/prescription?which=edging").at("/which"), R"("edging")");
  EXPECT_EQ(rig->get("/units/windrow-flat/prescription?which=upper").mistakes(), Strings{"?which unknown_word"});
}

TEST_F(ApiUnits, AllMistakesOfAPrescriptionAreNamedAndNothingIsStored) {
  const std::string wrong = R"({"limits":[
    {"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"min":30,"max":20}},
    {"quantity":"warmth","scope":"each_hour","kind":"hard","acceptable":{"min":1}}],"duration_h":-1,"colour":"red"})";
  for (const char* method : {"PUT", "POST"}) {
    const Answer refused =
        rig->call(method, std::string("/units/sawpit-ridge/") + (method == std::string("PUT") ? "prescription" : "trial"), wrong);
    EXPECT_EQ(refused.status, 422);
    EXPECT_EQ(refused.mistakes(), (Strings{"/colour unknown_member", "/duration_h out_of_range",
                                           "/limits/0/acceptable/min reversed", "/limits/1/quantity unknown_quantity"}));
  }
  EXPECT_EQ(rig->get("/units/sawpit-ridge/prescription").at("/revision"), "1");
}

TEST_F(ApiUnits, ATrialEqualsWhatStoringGivesAndStoresNothing) {
  json::value prescription = demo_prescription("sawpit-ridge");
  prescription.as_object()["duration_h"] = 8;  // the best day has seven hours
  const std::string body = json::serialize(prescription);
  const std::size_t rows = (*rig->store().audit(0, 1000)).size();
  const auto before = rig->picture();
  const std::string days_before = rig->get("/units/sawpit-ridge/days").at("/days");
  const Answer trial = rig->call("POST", "/units/sawpit-ridge/trial", body);
  ASSERT_EQ(trial.status, 200) << trial.text;
  expect_standing(trial);
  EXPECT_EQ((*rig->store().audit(0, 1000)).size(), rows) << "a trial writes nothing";
  EXPECT_EQ(rig->picture(), before) << "a trial publishes nothing";
  EXPECT_EQ(rig->get("/units/sawpit-ridge/days").at("/days"), days_before);

  Strings changed;
  for (const json::value& c : trial.body.at("changed").as_array())
    changed.push_back(std::string(c.at("date").as_string()) + " " + std::string(c.at("from").as_string()) + "→" +
                      std::string(c.at("to").as_string()));
  EXPECT_FALSE(changed.empty());
  const json::value was = *parse_json(days_before, "days");
  ASSERT_EQ(rig->call("PUT", "/units/sawpit-ridge/prescription", body).status, 200);
  const Answer stored = rig->get("/units/sawpit-ridge/days");
  EXPECT_EQ(trial.at("/days"), stored.at("/days"));
  const Answer hours = rig->get("/units/sawpit-ridge/hours?limits=yes");
  for (const char* part : {"/times", "/fit", "/limits"})
    EXPECT_EQ(trial.at(std::string("/hours") + part), hours.at(part)) << part;
  Strings differences;
  for (const json::value& day : was.as_array())
    if (const std::string now = verdict("sawpit-ridge", std::string(day.at("date").as_string()));
        now != std::string(day.at("verdict").as_string()))
      differences.push_back(std::string(day.at("date").as_string()) + " " + std::string(day.at("verdict").as_string()) + "→" +
                            now);
  std::sort(differences.begin(), differences.end());
  EXPECT_EQ(changed, differences);
}

// The fit of an hour is that of its worst limit, so the limits by themselves must add up to it.
TEST_F(ApiUnits, TheFitOfAnHourIsThatOfItsWorstLimit) {
  json::value written = demo_prescription("sawpit-ridge");
  // A forest has no moisture of buttongrass.
  written.at("limits").as_array().push_back(must(
      parse_json(R"({"quantity":"buttongrass_moisture","scope":"each_hour","kind":"hard","acceptable":{"max":30}})", "limit")));
  ASSERT_EQ(rig->call("PUT", "/units/sawpit-ridge/prescription", json::serialize(written)).status, 200);
  const Answer hours = rig->get("/units/sawpit-ridge/hours?limits=yes&quantities=ffdi");
  ASSERT_EQ(hours.status, 200) << hours.text;
  const json::array& limits = written.at("limits").as_array();
  const json::array& told = hours.body.at("limits").as_array();
  const json::array& fit = hours.body.at("fit").as_array();
  ASSERT_EQ(told.size(), limits.size());
  const auto badness = [](const json::value& word) { return word == "out" ? 2 : word == "unknown" ? 1 : 0; };
  std::set<std::string> seen;
  for (std::size_t hour = 0; hour < fit.size(); ++hour) {
    int worst = 0;
    for (std::size_t i = 0; i < limits.size(); ++i) {
      EXPECT_EQ(told[i].at("quantity"), limits[i].at("quantity"));
      EXPECT_EQ(told[i].at("scope"), limits[i].at("scope"));
      const json::value& of_limit = told[i].at("fit").as_array().at(hour);
      seen.insert(std::string(of_limit.as_string()));
      if (limits[i].at("scope") == "each_hour" && limits[i].at("kind") != "preference")
        worst = std::max(worst, badness(of_limit));
    }
    EXPECT_EQ(badness(fit[hour]), worst) << "hour " << hour;
  }
  EXPECT_EQ(seen, (std::set<std::string>{"in", "out", "unknown"}));
  EXPECT_EQ(rig->get("/units/sawpit-ridge/hours").at("/limits"), "none");
  EXPECT_EQ(rig->get("/units/sawpit-ridge/hours?limits=some").mistakes(), (Strings{"?limits unknown_word"}));
}

TEST_F(ApiUnits, APrescriptionIsStoredWithTheReasonGiven) {
  const std::string body = json::serialize(demo_prescription("sawpit-ridge"));
  ASSERT_EQ(rig->call("PUT", "/units/sawpit-ridge/prescription?reason=wetter+litter+agreed", body).status, 200);
  const auto audit = rig->store().audit(0, 1);
  ASSERT_TRUE(audit);
  EXPECT_EQ(audit->front().object, "prescription/sawpit-ridge/main");
  EXPECT_EQ(audit->front().reason, "wetter litter agreed");
}

TEST_F(ApiUnits, ATrialOfAnotherRunIsRefused) {
  const std::string body = R"({"limits":[]})";
  EXPECT_EQ(rig->call("POST", "/units/sawpit-ridge/trial?run=fine.2027-03-29T12:00:00Z", body).status, 200);
  EXPECT_EQ(rig->call("POST", "/units/sawpit-ridge/trial?run=other", body).status, 404);
}

TEST_F(ApiUnits, DaysComeBestFirst) {
  const Answer days = rig->get("/units/sawpit-ridge/days");
  EXPECT_EQ(days.at("/unit"), R"("sawpit-ridge")");
  EXPECT_EQ(days.at("/days/0/date"), R"("2027-04-02")");
  EXPECT_EQ(days.at("/days/0/verdict"), R"("met")");
  EXPECT_EQ(days.at("/days/0/rank"), "1");
  EXPECT_EQ(days.at("/days/0/feeds/0/feed"), R"("fine")");
  expect_standing(days);
}

TEST_F(ApiUnits, DaysOfAllUnitsAreGroupedByDate) {
  const Answer days = rig->get("/days?from=2027-04-02&to=2027-04-03");
  EXPECT_EQ(days.body.at("days").as_array().size(), 2u);
  EXPECT_EQ(days.at("/days/0/date"), R"("2027-04-02")");
  EXPECT_EQ(days.body.at("days").at(0).at("units").as_array().size(), 16u);
  EXPECT_EQ(days.at("/days/0/units/0/verdict"), R"("met")");
  EXPECT_NE(days.at("/days/0/units/0/unit"), "none");
  expect_standing(days);
  const Answer met = rig->get("/days?from=2027-04-02&to=2027-04-02&verdict=met,blocked");
  for (const json::value& unit : met.body.at("days").at(0).at("units").as_array())
    EXPECT_TRUE(unit.at("verdict").as_string() == "met" || unit.at("verdict").as_string() == "blocked");
  EXPECT_EQ(rig->get("/days?from=tomorrow&verdict=good").mistakes(), (Strings{"?from not_a_date", "?verdict unknown_word"}));
  EXPECT_EQ(rig->get("/days?from=2027-04-03&to=2027-04-02").mistakes(), Strings{"?from reversed"});
}

TEST_F(ApiUnits, HoursComeAsColumns) {
  const Answer hours = rig->get("/units/sawpit-ridge/hours?quantities=ffdi,air_temperature&from=2027-04-02&to=2027-04-02");
  ASSERT_EQ(hours.status, 200) << hours.text;
  EXPECT_EQ(hours.body.at("times").as_array().size(), 24u);
  EXPECT_EQ(hours.at("/times/0"), R"("2027-04-01T13:00:00Z")");
  EXPECT_EQ(hours.body.at("quantities").as_object().size(), 2u);
  EXPECT_EQ(hours.body.at("quantities").at("ffdi").at("values").as_array().size(), 24u);
  EXPECT_EQ(hours.body.at("fit").as_array().size(), 24u);
  expect_standing(hours);
  const Answer span =
      rig->get("/units/sawpit-ridge/hours?quantities=ffdi&from=2027-04-02T10:00:00%2B11:00&to=2027-04-02T12:30:00%2B11:00");
  EXPECT_EQ(span.at("/times"), R"(["2027-04-01T23:00:00Z","2027-04-02T00:00:00Z","2027-04-02T01:00:00Z"])");
}

TEST_F(ApiUnits, HoursRefuseWhatTheyDoNotKnow) {
  EXPECT_EQ(rig->get("/units/sawpit-ridge/hours?quantities=ffdy").at("/errors/0/hint"), R"("did you mean \"ffdi\"?")");
  EXPECT_EQ(rig->get("/units/sawpit-ridge/hours?from=2027-04-02T10:00:00").mistakes(), Strings{"?from no_offset"});
  EXPECT_EQ(rig->get("/units/sawpit-ridge/hours?run=fine.2027-03-29T12:00:00Z&quantities=ffdi").status, 200);
  EXPECT_EQ(rig->get("/units/sawpit-ridge/hours?run=other").status, 404);
  EXPECT_EQ(rig->get("/units/sawpit-ridge/hours?from=2028-01-01").at("/times"), "[]");
}

TEST_F(ApiUnits, HoursComeAsRowsWhenAskedFor) {
  const Answer hours = rig->call("GET", "/hours?units=sawpit-ridge,old-tramway&quantities=ffdi&from=2027-04-02&to=2027-04-02", "",
                                 {{"accept", "text/csv"}});
  EXPECT_EQ(hours.status, 200);
  EXPECT_TRUE(hours.type.starts_with("text/csv"));
  EXPECT_TRUE(
      hours.text.starts_with("unit,time_utc,fit,ffdi [1],out_of_domain,provisional\r\nsawpit-ridge,2027-04-01T13:00:00Z,"))
      << hours.text.substr(0, 100);
  EXPECT_EQ(std::count(hours.text.begin(), hours.text.end(), '\n'), 1 + 2 * 24);
  EXPECT_EQ(hours.header("Hakea-Run"), "fine.2027-03-29T12:00:00Z");
  EXPECT_EQ(hours.header("Hakea-Freshness"), "current");
}

TEST_F(ApiUnits, HoursOfSeveralUnitsComeInOneAnswer) {
  const Answer hours = rig->get("/hours?units=sawpit-ridge,old-tramway&quantities=ffdi");
  EXPECT_EQ(hours.at("/units/1/unit"), R"("old-tramway")");
  EXPECT_EQ(rig->get("/hours?units=nowhere").status, 404);
}

TEST_F(ApiUnits, ADistrictIsServedAndReplaced) {
  const Answer read = rig->get("/districts/tallowmere");
  EXPECT_TRUE(read.header("ETag").starts_with("\"r1.")) << read.header("ETag");
  EXPECT_EQ(read.at("/depots/0/crews"), "3");
  json::value changed = read.body;
  changed.as_object()["holidays"] = json::array();
  const Answer put = rig->call("PUT", "/districts/tallowmere", json::serialize(changed), {{"if-match", "\"r1\""}});
  ASSERT_EQ(put.status, 200) << put.text;
  EXPECT_EQ(put.at("/revision"), "2");
  EXPECT_EQ(put.at("/holidays"), "[]");
  EXPECT_EQ(
      rig->call("PUT", "/districts/tallowmere", R"({"holidays":[{"from":"2027-04-09","to":"2027-04-02"}],"sea":1})").mistakes(),
      (Strings{"/holidays/0/from reversed", "/sea unknown_member"}));
  EXPECT_EQ(rig->get("/districts/nowhere").status, 404);
}

TEST_F(ApiUnits, TellWhatPastHoursSayOfTheirPrescription) {
  const Answer history = rig->get("/units/sawpit-ridge/history");
  ASSERT_EQ(history.status, 200) << history.text;
  EXPECT_EQ(history.at("/id"), R"("sawpit-ridge")");
  EXPECT_EQ(history.at("/source"), R"("past_years")");
  EXPECT_EQ(history.body.at("by_month").as_array().size(), 12u);
  EXPECT_EQ(history.at("/rarity"), "null") << "ten days are no year";
  EXPECT_EQ(history.at("/days"), std::to_string(rig->picture()->unit("sawpit-ridge")->history->dates.size()));
  EXPECT_FALSE(history.body.at("hours_lost").as_array().empty());
  expect_standing(history);
  EXPECT_EQ(rig->get("/units/nowhere/history").status, 404);
}

TEST_F(ApiUnits, TellWhatBecameOfTheirForecasts) {
  const Answer verification = rig->get("/units/sawpit-ridge/verification");
  ASSERT_EQ(verification.status, 200) << verification.text;
  EXPECT_EQ(verification.at("/unit"), R"("sawpit-ridge")");
  EXPECT_EQ(verification.at("/from"), "null") << "nothing was observed";
  EXPECT_EQ(verification.at("/scores"), "[]");
  expect_standing(verification);
  const Answer hours = rig->get("/units/sawpit-ridge/hours?quantities=air_temperature");
  EXPECT_EQ(hours.at("/corrected"), "null");
  const Answer days = rig->get("/units/sawpit-ridge/days");
  EXPECT_EQ(days.at("/days/0/rests_on/verified"), "null");
  EXPECT_NE(days.at("/days/0/rests_on/lead_days"), "none");
}

TEST_F(ApiUnits, OfADistrictAreVerifiedTogetherForThoseWhoMaySeeIt) {
  const Answer together = rig->get("/districts/tallowmere/verification");
  ASSERT_EQ(together.status, 200) << together.text;
  EXPECT_EQ(together.at("/district"), R"("tallowmere")");
  EXPECT_EQ(together.at("/units"), "[]") << "nothing was observed";
  EXPECT_EQ(together.at("/windows"), "[]");
  expect_standing(together);
  EXPECT_EQ(rig->get("/districts/nowhere/verification").status, 404);
  rig->use_token(rig->token(Role::viewer, {"elsewhere"}));
  EXPECT_EQ(rig->get("/districts/tallowmere/verification").status, 403);
}

}  // namespace
}  // namespace hakea::test
