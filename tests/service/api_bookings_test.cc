// The life of a booking through the interface: its states, notices and the official forecast beside ours, and what is coming
// to a burn until it is closed.
#include <gtest/gtest.h>

#include "service/tell/alert_facts.h"
#include "tests/support/api_rig.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

class ApiBookings : public ApiTest {
 protected:
  Answer book(const std::string& more, const std::string& unit = "sawpit-ridge", const std::string& date = "2027-04-02") {
    return rig->call("POST", "/bookings", R"({"unit":")" + unit + R"(","date":")" + date + "\"" + more + "}");
  }
  Answer put(const std::string& more, const std::string& unit = "sawpit-ridge", const std::string& date = "2027-04-02") {
    return rig->call("PUT", "/bookings/b-0002", R"({"unit":")" + unit + R"(","date":")" + date + "\"" + more + "}",
                     {{"if-match", "*"}});
  }
};

TEST_F(ApiBookings, EachStepSaysWhoAndWhen) {
  rig->use_token(rig->token(Role::officer));
  ASSERT_EQ(book("").status, 201);
  rig->use_token(rig->token(Role::coordinator));
  ASSERT_EQ(put(R"(,"state":"committed")").status, 200);
  rig->use_token(rig->token(Role::officer));
  EXPECT_EQ(put(R"(,"state":"lit")").mistakes(), Strings{"/lit_at required"});
  EXPECT_EQ(put(R"(,"state":"lit","lit_at":"2027-03-31T10:00:00+11:00")").mistakes(), Strings{"/lit_at in_the_future"});
  ASSERT_EQ(put(R"(,"state":"lit","lit_at":"2027-03-30T06:00:00+11:00")").status, 200);
  const Answer mop_up = put(R"(,"state":"mop_up")");
  ASSERT_EQ(mop_up.status, 200) << mop_up.text;
  EXPECT_EQ(mop_up.at("/lit_at"), R"("2027-03-30T06:00:00+11:00")") << "it is not forgotten by not being said again";
  const json::array& steps = mop_up.body.at("steps").as_array();
  ASSERT_EQ(steps.size(), 4U);
  EXPECT_EQ(mop_up.at("/steps/0/state"), R"("draft")");
  EXPECT_EQ(mop_up.at("/steps/0/by"), R"("officer")");
  EXPECT_EQ(mop_up.at("/steps/1/state"), R"("committed")");
  EXPECT_EQ(mop_up.at("/steps/1/by"), R"("coordinator")");
  EXPECT_EQ(mop_up.at("/steps/3/at").substr(0, 17), R"("2027-03-30T06:30)");

  EXPECT_EQ(put(R"(,"state":"closed")").status, 403) << "that it is safe is the coordinator's to say";
  rig->use_token(rig->token(Role::coordinator));
  ASSERT_EQ(put(R"(,"state":"closed")").status, 200);
  const Answer audit = rig->get("/audit?limit=1");
  EXPECT_EQ(audit.at("/audit/0/reason"), R"("mop_up to closed")");
}

TEST_F(ApiBookings, ARefusedStepChangesNothingAndNamesWhatIsAllowed) {
  ASSERT_EQ(book(R"(,"state":"committed")").status, 201);
  const Answer refused = put(R"(,"state":"patrol","lit_at":"2027-03-30T06:00:00+11:00")");
  EXPECT_EQ(refused.status, 409);
  EXPECT_EQ(refused.mistakes(), Strings{"/state not_allowed"});
  EXPECT_EQ(refused.at("/errors/0/hint"), R"("it may become draft, stood_down, lit")");
  EXPECT_EQ(rig->get("/bookings/b-0002").at("/state"), R"("committed")");
  EXPECT_EQ(rig->get("/bookings/b-0002").at("/revision"), "1");
}

TEST_F(ApiBookings, ADecisionAnewRestsOnTheDayAsItIsThen) {
  ASSERT_EQ(book("").at("/based_on/prescription_revision"), "1");
  ASSERT_EQ(rig->call("PUT", "/units/sawpit-ridge/prescription", json::serialize(demo_prescription("sawpit-ridge"))).status, 200);
  EXPECT_EQ(put(R"(,"note":"two crews")").at("/based_on/prescription_revision"), "1");
  EXPECT_EQ(put(R"(,"state":"committed")").at("/based_on/prescription_revision"), "2");
}

TEST_F(ApiBookings, NoticesAreCompletedAndCounted) {
  // Schoolhouse Block wants three days' notice.
  const Answer made = book("", "schoolhouse-block", "2027-04-06");
  EXPECT_EQ(made.at("/notice"), R"({"days":3,"due_by":"2027-04-04T00:00:00+11:00","given":false,"overdue":false})");
  const Answer noticed = put(R"(,"notices":[{"kind":"neighbours"}])", "schoolhouse-block", "2027-04-06");
  ASSERT_EQ(noticed.status, 200) << noticed.text;
  EXPECT_EQ(noticed.at("/notices/0/for"), R"(["2027-04-06"])");
  EXPECT_EQ(noticed.at("/notices/0/by"), R"("coordinator")");
  EXPECT_EQ(noticed.at("/notices/0/given_at").substr(0, 17), R"("2027-03-30T06:30)");
  EXPECT_EQ(noticed.at("/notice/given"), "true");
  EXPECT_EQ(put(R"(,"notices":[{"given_at":"2027-04-06T10:00:00+10:00"}])", "schoolhouse-block", "2027-04-06").mistakes(),
            Strings{"/notices/0/given_at in_the_future"});

  // Vineyard Edge wants five: for 2 April they are past.
  rig->call("POST", "/bookings", R"({"unit":"vineyard-edge","date":"2027-04-02"})");
  EXPECT_EQ(rig->get("/bookings/b-0003").at("/notice/overdue"), "true");
  EXPECT_EQ(rig->get("/bookings/b-0001").at("/notice"), "null") << "its unit needs none";
}

TEST_F(ApiBookings, AnOpenBurnIsHeldAgainstItsTailEveryDayUntilItIsClosed) {
  const Answer open = rig->get("/bookings/b-0001");  // Log Landing Heaps, lit on 28 March
  const json::array& days = open.body.at("look_ahead").at("days").as_array();
  ASSERT_EQ(days.size(), 8U);
  EXPECT_EQ(open.at("/look_ahead/days/0/date"), R"("2027-03-30")");
  // Monday 5 April: hot, dry, a change to the south-west at 17:00, no rain.
  const json::value& monday = days[6];
  EXPECT_EQ(monday.at("date").as_string(), "2027-04-05");
  EXPECT_GE(monday.at("ffdi").at("value").to_number<double>(), 24);
  EXPECT_LE(monday.at("relative_humidity").at("value").to_number<double>(), 25);
  EXPECT_GE(monday.at("wind_change").at("wind_speed").to_number<double>(), 25);
  EXPECT_EQ(monday.at("tail").at("verdict").as_string(), "out");
  EXPECT_EQ(monday.at("tail").at("broken").at(0).at("quantity").as_string(), "ffdi");
  EXPECT_EQ(days[3].at("tail").at("verdict").as_string(), "in");
  EXPECT_EQ(open.at("/look_ahead/worst/tail/verdict"), R"("out")");
  EXPECT_EQ(open.body.at("look_ahead").at("worst").at("ffdi"), monday.at("ffdi"));

  json::value body = open.body;
  body.as_object()["state"] = "closed";
  const Answer closed = rig->call("PUT", "/bookings/b-0001", json::serialize(body), {{"if-match", "*"}});
  ASSERT_EQ(closed.status, 200) << closed.text;
  EXPECT_EQ(closed.at("/look_ahead"), "none");
}

TEST_F(ApiBookings, TheOfficialForecastStandsBesideOursAndChangesNoVerdict) {
  const std::string before = verdict("sawpit-ridge", "2027-04-02");
  ASSERT_EQ(book("").status, 201);
  EXPECT_EQ(rig->get("/bookings/b-0002").at("/official"), "none");
  const Answer entered = rig->call("POST", "/observations", R"({"unit":"sawpit-ridge","at":"2027-04-02T14:00:00+11:00",
    "kind":"official_forecast","values":{"relative_humidity":{"value":20,"unit":"%"},"air_temperature":{"value":21,"unit":"Cel"}}})");
  ASSERT_EQ(entered.status, 201) << entered.text;
  const Answer booking = rig->get("/bookings/b-0002");
  EXPECT_EQ(booking.at("/official/0/at"), R"("2027-04-02T14:00:00+11:00")");
  const json::value humidity = booking.body.at("official").at(0).at("values").at("relative_humidity");
  EXPECT_EQ(humidity.at("differs").as_bool(), true);
  EXPECT_NEAR(humidity.at("difference").to_number<double>(), 20 - humidity.at("ours").to_number<double>(), 1e-4);
  EXPECT_EQ(booking.body.at("official").at(0).at("values").at("air_temperature").at("differs").as_bool(), false);
  EXPECT_EQ(rig->get("/units/sawpit-ridge/days").at("/official/0/id"), R"("1")");
  EXPECT_EQ(verdict("sawpit-ridge", "2027-04-02"), before);
  EXPECT_NE(rig->get("/digest?district=tallowmere&date=2027-04-01")
                .text.find("the official forecast differs: relative humidity 20 % at 14:00, ours "),
            std::string::npos);
}

TEST_F(ApiBookings, EdgesAreJudgedByTheirOwnPrescription) {
  EXPECT_EQ(rig->get("/units/sawpit-ridge/days?which=edging").status, 404);
  json::value prescription = demo_prescription("sawpit-ridge");
  prescription.as_object()["limits"] = json::array{
      json::object{{"quantity", "air_temperature"}, {"kind", "hard"}, {"scope", "each_hour"}, {"acceptable", {{"min", 60}}}}};
  ASSERT_EQ(rig->call("PUT", "/units/sawpit-ridge/prescription?which=edging", json::serialize(prescription)).status, 201);
  const Answer edging = rig->get("/units/sawpit-ridge/days?which=edging");
  ASSERT_EQ(edging.status, 200) << edging.text;
  for (const json::value& day : edging.body.at("days").as_array()) EXPECT_NE(day.at("verdict").as_string(), "met");
  EXPECT_EQ(edging.at("/days/0/limiting/quantity"), R"("air_temperature")");
  EXPECT_EQ(verdict("sawpit-ridge", "2027-04-02"), "met");
  EXPECT_EQ(rig->get("/units/sawpit-ridge/days?which=core").mistakes(), Strings{"?which unknown_word"});
}

TEST_F(ApiBookings, TwoDaysAndTwoUnitsAreComparedInOneSentence) {
  const Answer days = rig->get("/units/sawpit-ridge/days?compare=2027-04-05,2027-04-02");
  const std::string text(days.body.at("compared").as_string());
  EXPECT_TRUE(text.starts_with("Friday 2 April before Monday 5 April: met against out; on Monday: ")) << text;
  EXPECT_EQ(rig->get("/units/sawpit-ridge/days").at("/compared"), "none");
  EXPECT_EQ(rig->get("/units/sawpit-ridge/days?compare=2027-04-05").mistakes(), Strings{"?compare not_a_pair"});
  EXPECT_EQ(rig->get("/units/sawpit-ridge/days?compare=2027-04-05,soon").mistakes(), Strings{"?compare unknown_date"});

  const Answer units = rig->get("/days?from=2027-04-03&to=2027-04-03&compare=racecourse-reserve,blue-gum-spur");
  const std::string pair(units.body.at("days").at(0).at("compared").as_string());
  EXPECT_TRUE(pair.starts_with("Blue Gum Spur before Racecourse Reserve on Saturday 3 April: ")) << pair;
  EXPECT_NE(pair.find("Racecourse Reserve: festival at the racecourse"), std::string::npos) << pair;
  EXPECT_EQ(rig->get("/days?compare=racecourse-reserve,nowhere").mistakes(), Strings{"?compare unknown_unit"});
}

TEST_F(ApiBookings, H24_ABanEnteredAtFiveForTomorrowBlocksAtOnceAndIsInTheAudit) {
  ASSERT_EQ(verdict("sawpit-ridge", "2027-04-02"), "met");
  ASSERT_EQ(book(R"(,"state":"committed")").status, 201);
  ASSERT_EQ(rig->call("POST", "/stops", R"({"scope":{"district":"tallowmere"},"from":"2027-04-02","to":"2027-04-02",
    "kind":"declared_ban","why":"total fire ban"})")
                .status,
            201);
  EXPECT_EQ(verdict("sawpit-ridge", "2027-04-02"), "blocked");
  EXPECT_EQ(rig->get("/bookings/b-0002").at("/day/verdict"), R"("met")") << "what was decided on stays";
  EXPECT_EQ(rig->get("/audit?limit=1").at("/audit/0/after/why"), R"("total fire ban")");
}

TEST_F(ApiBookings, H25_ANeighbourBurntLastWeekBlocksByNameAndDate) {
  ASSERT_EQ(book(R"(,"state":"closed","lit_at":"2027-03-23T10:00:00+11:00")", "bracken-tops-north", "2027-03-23").status, 201);
  const Answer days = rig->get("/units/emu-track/days");
  for (const json::value& day : days.body.at("days").as_array()) {
    EXPECT_EQ(day.at("verdict").as_string(), "blocked");
    const std::string blocked = json::serialize(day.at("blocked_by"));
    EXPECT_NE(blocked.find("bracken-tops-north beside it was lit on 2027-03-23"), std::string::npos) << blocked;
  }
}

TEST_F(ApiBookings, ANeighbourBlocksWhicheverOfTheTwoNamesTheOther) {
  ASSERT_EQ(rig->call("PATCH", "/units/emu-track", R"({"properties":{"adjacent":null}})", {{"if-match", "*"}}).status, 200);
  ASSERT_EQ(
      rig->call("PATCH", "/units/bracken-tops-north", R"({"properties":{"adjacent":["emu-track"]}})", {{"if-match", "*"}}).status,
      200);
  ASSERT_EQ(book(R"(,"state":"closed","lit_at":"2027-03-23T10:00:00+11:00")", "bracken-tops-north", "2027-03-23").status, 201);
  EXPECT_NE(rig->get("/units/emu-track/days").text.find("bracken-tops-north beside it was lit on 2027-03-23"), std::string::npos);
  ASSERT_EQ(rig->call("PATCH", "/units/bracken-tops-north", R"({"properties":{"adjacent":null}})", {{"if-match", "*"}}).status,
            200);
  EXPECT_EQ(rig->get("/units/emu-track/days").text.find("beside it"), std::string::npos) << "and no longer when neither does";
}

TEST_F(ApiBookings, ANoticeOfABurnOfTwoDaysCoversBoth) {
  const Answer made = book(R"(,"notices":[{"kind":"neighbours"}])", "bracken-tops-north", "2027-04-03");
  EXPECT_EQ(made.at("/notices/0/for"), R"(["2027-04-03","2027-04-04"])");
  EXPECT_EQ(made.at("/notice/given"), "true");
}

TEST_F(ApiBookings, ACommitmentToAnotherDateIsAStepOfWhoMakesIt) {
  rig->use_token(rig->token(Role::coordinator));
  ASSERT_EQ(book(R"(,"state":"committed")").status, 201);
  const Answer moved = put(R"(,"state":"committed")", "sawpit-ridge", "2027-04-03");
  ASSERT_EQ(moved.status, 200) << moved.text;
  EXPECT_EQ(moved.body.at("steps").as_array().size(), 2U);
  EXPECT_EQ(put(R"(,"state":"committed","note":"said again")", "sawpit-ridge", "2027-04-03").body.at("steps").as_array().size(),
            2U);
}

TEST_F(ApiBookings, WhatIsLitIsStillFollowedByItsBooking) {
  ASSERT_EQ(book(R"(,"state":"committed")").status, 201);
  rig->judge_at(*parse_instant("2027-04-02T10:30:00+11:00"));
  ASSERT_EQ(put(R"(,"state":"lit","lit_at":"2027-04-02T10:15:00+11:00")").status, 200);
  const core::AlertFacts facts = alert_facts(*rig->picture());
  ASSERT_EQ(facts.bookings.size(), 1U);
  EXPECT_TRUE(facts.bookings.front().is_lit);
  EXPECT_TRUE(facts.bookings.front().briefed);
}

}  // namespace
}  // namespace hakea::test
