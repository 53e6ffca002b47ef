// Stops, bookings and observations through the interface: what people enter, judged at once and never lost sight of.
#include <gtest/gtest.h>

#include "service/tell/said.h"
#include "tests/support/api_rig.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

using ApiEntries = ApiTest;

const std::string kBest = "2027-04-02";  // of sawpit-ridge, met

TEST_F(ApiEntries, AStopBlocksUntilItIsLiftedWithAReasonAndTheAuditShowsBoth) {
  ASSERT_EQ(verdict("sawpit-ridge", kBest), "met");
  const Answer stop = rig->call("POST", "/stops", R"({"scope":{"district":"tallowmere"},"from":"2027-04-02","to":"2027-04-02",
    "kind":"declared_ban","why":"total fire ban"})");
  ASSERT_EQ(stop.status, 201) << stop.text;
  EXPECT_EQ(stop.header("Location"), "/api/v1/stops/s-0001");
  EXPECT_EQ(stop.at("/by"), R"("coordinator")");
  EXPECT_EQ(verdict("sawpit-ridge", kBest), "blocked");
  EXPECT_EQ(verdict("blue-gum-spur", kBest), "blocked");
  EXPECT_EQ(day("sawpit-ridge", kBest).at("blocked_by").at(0).at("kind").as_string(), "declared_ban");

  EXPECT_EQ(rig->call("DELETE", "/stops/s-0001").mistakes(), Strings{"/reason required"});
  EXPECT_EQ(rig->call("DELETE", "/stops/s-0001", R"({"reason":"  "})").mistakes(), Strings{"/reason required"});
  EXPECT_EQ(verdict("sawpit-ridge", kBest), "blocked");

  const Answer lifted = rig->call("DELETE", "/stops/s-0001", R"({"reason":"the ban was withdrawn"})");
  EXPECT_EQ(lifted.status, 200) << lifted.text;
  EXPECT_EQ(lifted.at("/lifted/reason"), R"("the ban was withdrawn")");
  EXPECT_EQ(verdict("sawpit-ridge", kBest), "met");
  EXPECT_EQ(rig->get("/stops/s-0001").status, 404);

  const Answer audit = rig->get("/audit?limit=2");
  EXPECT_EQ(audit.at("/audit/1/action"), R"("create")");
  EXPECT_EQ(audit.at("/audit/1/after/why"), R"("total fire ban")");
  EXPECT_EQ(audit.at("/audit/0/action"), R"("lift")");
  EXPECT_EQ(audit.at("/audit/0/reason"), R"("the ban was withdrawn")");
  EXPECT_EQ(audit.at("/audit/0/actor"), R"("coordinator")");
  EXPECT_EQ(audit.at("/audit/0/address"), R"("127.0.0.1")");
  EXPECT_EQ(audit.at("/audit/0/request_id"), R"("test-1")");
}

// JOB 7 H24: a total fire ban entered at five in the afternoon for the next day.
TEST_F(ApiEntries, H24_ABanForTomorrowBlocksAtOnceIsLostInTheDigestAndStandsInTheAudit) {
  const std::string tomorrow = "2027-03-31";
  ASSERT_EQ(verdict("back-paddock", tomorrow), "met");
  const DistrictView& district = rig->picture()->districts.at("tallowmere");
  const auto kept = keep_said(rig->store(), *rig->picture(), district, rig->clock.now());
  ASSERT_TRUE(kept && *kept) << "this morning's digest";
  rig->clock.set(*parse_instant("2027-03-30T17:00:00+11:00"));
  const Answer ban = rig->call("POST", "/stops", R"({"scope":{"district":"tallowmere"},"from":"2027-03-31","to":"2027-03-31",
    "kind":"declared_ban","why":"total fire ban"})");
  ASSERT_EQ(ban.status, 201) << ban.text;
  EXPECT_EQ(verdict("back-paddock", tomorrow), "blocked") << "in the very next answer";
  const json::value blocked = day("back-paddock", tomorrow);
  EXPECT_EQ(blocked.at("blocked_by").at(0).at("kind").as_string(), "declared_ban");
  EXPECT_EQ(blocked.at("blocked_by").at(0).at("why").as_string(), "total fire ban");
  EXPECT_FALSE(blocked.at("windows").as_array().empty()) << "it says nothing about the weather";
  const Answer all = rig->get("/days?from=2027-03-31&to=2027-03-31");
  for (const json::value& unit : all.body.at("days").at(0).at("units").as_array())
    EXPECT_EQ(unit.at("verdict").as_string(), "blocked") << json::serialize(unit.at("unit"));
  const Answer digest = rig->call("GET", "/digest?date=2027-03-31&district=tallowmere", "", {{"accept", "text/plain"}});
  EXPECT_NE(digest.text.find("Declared ban for the whole district on Wednesday 31 March: total fire ban."), std::string::npos)
      << digest.text;
  EXPECT_NE(digest.text.find("Lost: Back Paddock, Wednesday 31 March, now blocked; total fire ban."), std::string::npos)
      << digest.text;
  const Answer audit = rig->get("/audit?limit=1");
  EXPECT_EQ(audit.at("/audit/0/object"), R"("stop/s-0001")");
  EXPECT_EQ(audit.at("/audit/0/actor"), R"("coordinator")");
  EXPECT_EQ(audit.at("/audit/0/reason"), R"("total fire ban")");
}

TEST_F(ApiEntries, AStopOfAnAirshedOrAUnitBlocksThoseOnly) {
  ASSERT_EQ(
      rig->call("POST", "/stops", R"({"scope":{"airshed":"tops"},"from":"2027-04-02","to":"2027-04-02","kind":"period"})").status,
      201);
  EXPECT_EQ(verdict("blue-gum-spur", kBest), "blocked");
  EXPECT_EQ(verdict("sawpit-ridge", kBest), "met");
  ASSERT_EQ(rig->call("POST", "/stops", R"({"scope":{"unit":"sawpit-ridge"},"from":"2027-04-02T09:00:00+11:00",
    "to":"2027-04-02T18:00:00+11:00","kind":"other","why":"shearing"})")
                .status,
            201);
  EXPECT_EQ(verdict("sawpit-ridge", kBest), "blocked");
  EXPECT_EQ(rig->call("DELETE", "/stops/s-0002?reason=shorn").status, 200) << "the reason may stand in the path too";
  EXPECT_EQ(verdict("sawpit-ridge", kBest), "met");
}

TEST_F(ApiEntries, AStopMayBeMovedToOtherUnits) {
  rig->call("POST", "/stops", R"({"scope":{"unit":"sawpit-ridge"},"from":"2027-04-02","to":"2027-04-02","kind":"other"})");
  Answer read = rig->get("/stops/s-0001");
  EXPECT_TRUE(read.header("ETag").starts_with("\"r1.")) << read.header("ETag");
  read.body.at("scope") = json::object{{"unit", "lyrebird-gully"}};
  const Answer put = rig->call("PUT", "/stops/s-0001", json::serialize(read.body), {{"if-match", "\"r1\""}});
  ASSERT_EQ(put.status, 200) << put.text;
  EXPECT_EQ(put.at("/revision"), "2");
  EXPECT_EQ(verdict("sawpit-ridge", kBest), "met");
  EXPECT_EQ(verdict("lyrebird-gully", kBest), "blocked");
}

TEST_F(ApiEntries, AllMistakesOfAStopAreNamed) {
  EXPECT_EQ(
      rig->call("POST", "/stops", R"({"scope":{},"from":"2027-04-03","to":"2027-04-02","kind":"ban","colour":1})").mistakes(),
      (Strings{"/colour unknown_member", "/from reversed", "/kind unknown_word", "/scope required"}));
  const Answer nobody =
      rig->call("POST", "/stops", R"({"scope":{"unit":"sawpit-rigde"},"from":"2027-04-02","to":"2027-04-02","kind":"other"})");
  EXPECT_EQ(nobody.mistakes(), Strings{"/scope/unit unknown_unit"}) << "a stop that stops nothing is worse than none";
  EXPECT_EQ(nobody.at("/errors/0/hint"), R"("did you mean \"sawpit-ridge\"?")");
  EXPECT_EQ(rig->call("POST", "/stops", R"({"scope":{"airshed":"sea"},"from":"2027-04-02","to":"2027-04-02","kind":"other"})")
                .mistakes(),
            Strings{"/scope/airshed unknown_airshed"});
  EXPECT_EQ(rig->call("DELETE", "/stops/s-0099?reason=x").status, 404);
}

TEST_F(ApiEntries, StopsAreListed) {
  EXPECT_EQ(rig->get("/stops").at("/stops/0/id"), R"("festival")");
  EXPECT_EQ(rig->get("/stops").at("/stops/0/revision"), "1");
}

TEST_F(ApiEntries, ABookingFreezesTheDayItRestsOn) {
  const std::string before = json::serialize(day("sawpit-ridge", kBest));
  const Answer made =
      rig->call("POST", "/bookings", R"({"unit":"sawpit-ridge","date":"2027-04-02","state":"committed","note":"two crews"})");
  ASSERT_EQ(made.status, 201) << made.text;
  EXPECT_EQ(made.header("Location"), "/api/v1/bookings/b-0002");
  EXPECT_EQ(made.at("/by"), R"("coordinator")");
  EXPECT_EQ(made.at("/based_on"), R"({"run":"fine.2027-03-29T12:00:00Z","prescription_revision":1})");
  EXPECT_EQ(json::serialize(made.body.at("day")), before);

  // What is said of the day changes; what was decided on does not.
  json::value prescription = demo_prescription("sawpit-ridge");
  prescription.as_object()["duration_h"] = 9;
  ASSERT_EQ(rig->call("PUT", "/units/sawpit-ridge/prescription", json::serialize(prescription)).status, 200);
  ASSERT_NE(verdict("sawpit-ridge", kBest), "met");
  EXPECT_EQ(json::serialize(rig->get("/bookings/b-0002").body.at("day")), before);

  // Another state keeps it, another date is decided anew.
  Answer read = rig->get("/bookings/b-0002");
  read.body.as_object()["state"] = "stood_down";
  const Answer stood_down = rig->call("PUT", "/bookings/b-0002", json::serialize(read.body), {{"if-match", read.header("ETag")}});
  ASSERT_EQ(stood_down.status, 200) << stood_down.text;
  EXPECT_EQ(json::serialize(stood_down.body.at("day")), before);
  EXPECT_EQ(stood_down.at("/based_on/prescription_revision"), "1");
  const Answer moved = rig->call("PUT", "/bookings/b-0002", R"({"unit":"sawpit-ridge","date":"2027-04-03","state":"draft"})");
  EXPECT_EQ(moved.at("/day/date"), R"("2027-04-03")");
  EXPECT_EQ(moved.at("/based_on/prescription_revision"), "2");
}

TEST_F(ApiEntries, ABookingBeyondTheForecastHasNoDay) {
  const Answer made = rig->call("POST", "/bookings", R"({"unit":"sawpit-ridge","date":"2027-06-01"})");
  EXPECT_EQ(made.status, 201) << made.text;
  EXPECT_EQ(made.at("/day"), "null");
  EXPECT_EQ(made.at("/state"), R"("draft")");
}

TEST_F(ApiEntries, AllMistakesOfABookingAreNamed) {
  EXPECT_EQ(
      rig->call("POST", "/bookings", R"({"unit":"sawpit-ridge","date":"2027-13-01","state":"maybe","colour":1})").mistakes(),
      (Strings{"/colour unknown_member", "/date not_a_date", "/state unknown_word"}));
  EXPECT_EQ(rig->call("POST", "/bookings", R"({"unit":"nowhere","date":"2027-04-02"})").mistakes(),
            Strings{"/unit unknown_unit"});
  EXPECT_EQ(rig->call("POST", "/bookings", "7").status, 422);
}

TEST_F(ApiEntries, AnOfficerProposesAndACoordinatorDecides) {
  rig->use_token(rig->token(Role::officer));
  EXPECT_EQ(rig->call("POST", "/bookings", R"({"unit":"sawpit-ridge","date":"2027-04-02","state":"committed"})").status, 403);
  EXPECT_EQ(rig->call("POST", "/bookings", R"({"unit":"sawpit-ridge","date":"2027-04-02"})").status, 201);
  rig->use_token(rig->token(Role::coordinator));
  EXPECT_EQ(rig->call("PUT", "/bookings/b-0002", R"({"unit":"sawpit-ridge","date":"2027-04-02","state":"committed"})").status,
            428);
  const Answer committed = rig->call(
      "PUT", "/bookings/b-0002", R"({"unit":"sawpit-ridge","date":"2027-04-02","state":"committed"})", {{"if-match", "\"r1\""}});
  EXPECT_EQ(committed.status, 200);
  EXPECT_EQ(committed.at("/by"), R"("officer")") << "who booked it stays; who committed it stands in the audit";
  rig->use_token(rig->token(Role::officer));
  EXPECT_EQ(rig->call("DELETE", "/bookings/b-0002", "", {{"if-match", "\"r2\""}}).status, 403);
}

TEST_F(ApiEntries, ANeighbourThatWasLitBlocks) {
  ASSERT_NE(verdict("emu-track", kBest), "blocked");
  const Answer lit =
      rig->call("POST", "/bookings",
                R"({"unit":"bracken-tops-north","date":"2027-03-29","state":"lit","lit_at":"2027-03-29T10:00:00+11:00"})");
  ASSERT_EQ(lit.status, 201) << lit.text;
  EXPECT_EQ(verdict("emu-track", kBest), "blocked");
  EXPECT_EQ(rig->call("DELETE", "/bookings/b-0002").status, 204);
  EXPECT_NE(verdict("emu-track", kBest), "blocked");
}

TEST_F(ApiEntries, BookingsAreFound) {
  EXPECT_EQ(rig->get("/bookings").body.at("bookings").as_array().size(), 1u);
  EXPECT_EQ(rig->get("/bookings?unit=log-landing-heaps&from=2027-03-28&to=2027-03-28").at("/bookings/0/id"), R"("b-0001")");
  EXPECT_EQ(rig->get("/bookings?state=draft").at("/bookings"), "[]");
  EXPECT_EQ(rig->get("/bookings?from=2027-03-29").at("/bookings"), "[]");
  EXPECT_EQ(rig->get("/bookings/b-0099").status, 404);
}

TEST_F(ApiEntries, AnObservationIsKeptInOurUnits) {
  const Answer made =
      rig->call("POST", "/observations", R"({"unit":"sawpit-ridge","at":"2027-03-30T06:00:00+11:00","kind":"reading",
    "values":{"air_temperature":{"value":291.15,"unit":"K"},"relative_humidity":{"value":52,"unit":"%"}}})");
  ASSERT_EQ(made.status, 201) << made.text;
  EXPECT_EQ(made.header("Location"), "/api/v1/observations/1");
  EXPECT_EQ(made.at("/values/air_temperature/unit"), R"("Cel")");
  EXPECT_NEAR(made.body.at("values").at("air_temperature").at("value").to_number<double>(), 18, 1e-4);
  EXPECT_EQ(made.at("/at"), R"("2027-03-29T19:00:00Z")");
  EXPECT_EQ(made.at("/by"), R"("coordinator")");
  EXPECT_EQ(rig->get("/observations/1").at("/unit"), R"("sawpit-ridge")");
  EXPECT_EQ(rig->get("/observations?unit=sawpit-ridge&from=2027-03-29T19:00:00Z").body.at("observations").as_array().size(), 1u);
  EXPECT_EQ(rig->get("/observations?kind=official_forecast").at("/observations"), "[]");
  EXPECT_EQ(rig->get("/observations?from=2027-03-29").mistakes(), Strings{"?from not_a_time"});
}

TEST_F(ApiEntries, SeveralObservationsAreStoredTogetherOrNotAtAll) {
  const std::string good =
      R"({"station":"port-ansell","at":"2027-03-30T06:00:00+11:00","values":{"wind_speed":{"value":9,"unit":"km/h"}}})";
  EXPECT_EQ(rig->call("POST", "/observations", "[" + good + R"(,{"unit":"sawpit-ridge"}])").mistakes(),
            (Strings{"/1/at required", "/1/values required"}));
  EXPECT_EQ(rig->get("/observations").at("/observations"), "[]");
  const Answer made = rig->call("POST", "/observations", "[" + good + "," + good + "]");
  EXPECT_EQ(made.status, 201);
  EXPECT_EQ(made.at("/observations/1/id"), R"("2")");
}

TEST_F(ApiEntries, AReadingOfAStationSaysWhoseWeatherItBearsOn) {
  const auto post = [&](const std::string& who, const std::string& values) {
    return rig->call("POST", "/observations",
                     "{" + who + R"(,"at":"2027-03-30T06:00:00+11:00","kind":"reading","values":{)" + values + "}}");
  };
  const std::string wind = R"("wind_speed":{"value":9,"unit":"km/h"})";
  const Answer near = post(R"("station":"mast","position":[152.61,-37.72],"elevation_m":200)", wind);
  ASSERT_EQ(near.status, 201) << near.text;
  EXPECT_EQ(near.at("/position"), "[152.61,-37.72]");
  EXPECT_NE(near.at("/counts_for").find(R"("sawpit-ridge")"), std::string::npos);
  EXPECT_EQ(near.at("/counts_for").find(R"("blue-gum-spur")"), std::string::npos) << "670 m higher";
  EXPECT_EQ(rig->get("/observations/1").at("/counts_for"), near.at("/counts_for"));
  EXPECT_EQ(post(R"("station":"mast")", wind).at("/counts_for"), near.at("/counts_for")) << "it is where it was";
  EXPECT_EQ(post(R"("station":"elsewhere")", wind).at("/counts_for"), "[]") << "nobody said where";
  EXPECT_EQ(post(R"("station":"mast")", R"("kbdi":{"value":9,"unit":"mm"})").at("/counts_for"), "[]") << "no weather";
  EXPECT_EQ(post(R"("position":[152.61,-37.72])", wind).status, 201) << "a place needs no name";
  EXPECT_EQ(post(R"("unit":"sawpit-ridge","position":[152.61,-37.72])", wind).at("/counts_for"), R"(["sawpit-ridge"])");
  EXPECT_EQ(post(R"("station":"mast","position":[152.61])", wind).mistakes(), Strings{"/position not_a_position"});
  EXPECT_EQ(post(R"("station":"mast","elevation_m":200)", wind).mistakes(), Strings{"/position required"});
  EXPECT_EQ(rig->call("POST", "/observations", R"({"at":"2027-03-30T06:00:00+11:00","values":{)" + wind + "}}").mistakes(),
            Strings{"/unit required"});
}

TEST_F(ApiEntries, AllMistakesOfAnObservationAreNamed) {
  const Answer refused =
      rig->call("POST", "/observations", R"({"unit":"sawpit-ridge","station":"x","at":"2027-04-30T06:00:00+11:00","kind":"guess",
    "values":{"air_temperature":{"value":20,"unit":"km/h"},"relative_humidity":{"value":520,"unit":"%"},"warmth":{"value":1,"unit":"1"}}})");
  EXPECT_EQ(refused.mistakes(),
            (Strings{"/at in_the_future", "/kind unknown_word", "/unit contradictory", "/values/air_temperature/unit wrong_unit",
                     "/values/relative_humidity/value out_of_range", "/values/warmth unknown_quantity"}));
}

TEST_F(ApiEntries, StopsOfADateAreThoseThatHoldOnIt) {
  for (const char* times :
       {R"("from":"2027-04-02T09:00:00+11:00","to":"2027-04-02T12:00:00+11:00")", R"("from":"2027-04-05","to":"2027-04-06")"})
    ASSERT_EQ(
        rig->call("POST", "/stops", R"({"scope":{"unit":"sawpit-ridge"},"kind":"other",)" + std::string(times) + "}").status,
        201);
  const auto count = [&](const std::string& query) {
    const Answer listed = rig->get("/stops" + query);
    std::size_t found = 0;
    for (const json::value& stop : listed.body.at("stops").as_array()) found += stop.at("kind").as_string() == "other";
    return found;
  };
  EXPECT_EQ(count("?from=2027-04-02&to=2027-04-02"), 1U);
  EXPECT_EQ(count("?from=2027-04-03&to=2027-04-05"), 1U);
  EXPECT_EQ(count("?from=2027-05-01"), 0U);
  EXPECT_EQ(count(""), 2U);
}

}  // namespace
}  // namespace hakea::test
