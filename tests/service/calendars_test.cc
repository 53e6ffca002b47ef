// Calendars of the demo's district through the interface: who may read them, what they show, and that an event stays the same
// event whatever becomes of its window. Their text is taken apart here by hand; tests/web has an independent parser read it.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "service/output/calendar_text.h"
#include "service/output/time_text.h"
#include "tests/support/api_rig.h"
#include "tests/support/file_bytes.h"
#include "tests/support/must.h"

namespace hakea::test {
namespace {

using namespace hakea::service;
using std::chrono::hours;
using Properties = std::map<std::string, std::string>;  // by name, without parameters

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = text.find("\r\n", at);
    EXPECT_NE(end, std::string::npos) << "a line without its end";
    if (end == std::string::npos) break;
    lines.push_back(text.substr(at, end - at));
    at = end + 2;
  }
  return lines;
}

// Its events by unit and date, and the calendar's own properties as those of "".
std::map<std::string, Properties> events_in(const std::string& text) {
  std::map<std::string, Properties> events;
  std::vector<std::string> unfolded;
  for (const std::string& line : lines_of(text))
    if (line.starts_with(' '))
      unfolded.back() += line.substr(1);
    else
      unfolded.push_back(line);
  Properties* open = &events[""];
  Properties event;
  for (const std::string& line : unfolded) {
    const std::size_t colon = line.find(':');
    const std::string name = line.substr(0, line.find_first_of(":;"));
    if (line == "BEGIN:VEVENT") {
      event.clear();
      open = &event;
    } else if (line == "END:VEVENT") {
      const std::string& url = event["URL"];
      events[url.substr(url.rfind('/') + 1)] = event;
      open = &events[""];
    } else {
      (*open)[name] = line.substr(colon + 1);
    }
  }
  return events;
}

std::string compact(std::string_view local) {
  std::string text = utc_text(must(parse_instant(local)));
  std::erase_if(text, [](char c) { return c == '-' || c == ':'; });
  return text;
}

class CalendarApi : public ApiTest {
 protected:
  void SetUp() override {
    ApiTest::SetUp();
    if (rig) rig->config().access.origin = "https://burns.example";
  }
  // A new calendar's address below the origin.
  std::string link(const std::string& wish = R"({"district":"tallowmere"})") {
    const Answer made = rig->call("POST", "/calendars", wish);
    EXPECT_EQ(made.status, 201) << made.text;
    const std::string address = made.status == 201 ? std::string(made.body.at("address").as_string()) : "";
    EXPECT_TRUE(address.starts_with("https://burns.example/cal/")) << address;
    return address.substr(address.find("/cal/"));
  }
  Answer read(const std::string& path, const std::map<std::string, std::string>& headers = {}) {
    const std::string token = rig->token_in_use();
    rig->use_token("");
    Answer answer = rig->call("GET", path, "", headers);
    rig->use_token(token);
    return answer;
  }
  Properties event(const std::string& path, const std::string& unit, const std::string& date) {
    const auto events = events_in(read(path).text);
    const auto found = events.find(unit + "?day=" + date);
    return found == events.end() ? Properties() : found->second;
  }
  std::string unit_met_on(const std::string& date) {
    for (const auto& [id, view] : rig->picture()->units)
      for (const core::Day& day : view->days)
        if (date_text(day.date) == date && day.verdict == core::Verdict::met) return id;
    ADD_FAILURE() << "no unit is met on " << date;
    return "";
  }
  // "STATUS SEQUENCE TRANSP" of the event that the tests change.
  std::string standing(const std::string& path) {
    Properties of = event(path, "sawpit-ridge", "2027-04-02");
    return fmt::format("{} {} {}", of["STATUS"], of["SEQUENCE"], of["TRANSP"]);
  }
};

TEST_F(CalendarApi, ShowsTheBestWindowOfEveryMetDayAndNoOtherDay) {
  const auto events = events_in(read(link()).text);
  std::size_t met = 0;
  for (const auto& [id, view] : rig->picture()->units) {
    const Answer days = rig->get("/units/" + id + "/days");
    for (const json::value& day : days.body.at("days").as_array()) {
      const auto found = events.find(id + "?day=" + std::string(day.at("date").as_string()));
      EXPECT_EQ(found != events.end(), day.at("verdict").as_string() == "met") << id << " " << day.at("date");
      if (found == events.end()) continue;
      ++met;
      const json::value* best = nullptr;
      for (const json::value& window : day.at("windows").as_array())
        if (!window.at("unconfirmed").as_bool() &&
            (!best || window.at("fit").to_number<double>() > best->at("fit").to_number<double>()))
          best = &window;
      Properties of = found->second;
      EXPECT_EQ(of["DTSTART"], compact(std::string_view(best->at("start").as_string()))) << id;
      EXPECT_EQ(of["DTEND"], compact(std::string_view(best->at("end").as_string()))) << id;
      EXPECT_EQ(of["SEQUENCE"], "0");
      EXPECT_TRUE(of["SUMMARY"].starts_with("Forecast window (not an approval)")) << of["SUMMARY"];
      for (const char* said :
           {"authorised burn officer", "hours old when this was written", "Run fine.2027-03-29T12:00:00Z", "Fictional district"})
        EXPECT_NE(of["DESCRIPTION"].find(said), std::string::npos) << said << " in " << of["DESCRIPTION"];
    }
  }
  EXPECT_GT(met, 5u);
  EXPECT_EQ(events.size(), met + 1);
}

TEST_F(CalendarApi, IsWrittenAsTheStandardHasIt) {
  const std::string path = link();
  const Answer answer = read(path);
  EXPECT_EQ(answer.status, 200);
  EXPECT_EQ(answer.type, "text/calendar; charset=utf-8");
  for (const std::string& line : lines_of(answer.text)) {
    EXPECT_LE(line.size(), 75u) << line;
    const auto first = static_cast<unsigned char>(line.empty() ? '?' : line[line[0] == ' ' ? 1 : 0]);
    EXPECT_NE(first & 0xC0U, 0x80U) << "a letter is cut in two: " << line;
  }
  for (const char* never : {"BEGIN:VALARM", "ATTENDEE", "BEGIN:VTIMEZONE"})
    EXPECT_EQ(answer.text.find(never), std::string::npos) << never;
  Properties own = events_in(answer.text)[""];
  EXPECT_EQ(own["METHOD"], "PUBLISH");
  EXPECT_EQ(own["REFRESH-INTERVAL"], "PT1H");
  EXPECT_EQ(own["X-PUBLISHED-TTL"], "PT1H");
  EXPECT_EQ(own["SOURCE"], "https://burns.example" + path);
  EXPECT_EQ(own["NAME"], "Burn windows: Tallowmere");
  rig->config().access.origin = "";
  EXPECT_FALSE(events_in(read(path).text)[""].contains("SOURCE")) << "nobody knows how the service is reached";
}

TEST(CalendarText, EscapesAndFoldsWhatPeopleWrite) {
  CalendarEvent event;
  event.unit = "höhe";
  event.entry.title = "Höhe 3, north; a\\b";
  for (int i = 0; i < 60; ++i) event.entry.text += "ü";
  event.entry.text += "\nnext line";
  event.entry.hours = {UtcTime(hours(500000)), UtcTime(hours(500005))};
  const std::string text = calendar_text({"c-0001", "N", "6ba7b810-9dad-11d1-80b4-00c04fd430c8", "", "", UtcTime{}}, {&event, 1});
  std::string unfolded;
  for (const std::string& line : lines_of(text)) {
    EXPECT_LE(line.size(), 75u) << line;
    unfolded += line.starts_with(' ') ? line.substr(1) : "\n" + line;
  }
  EXPECT_NE(unfolded.find("\nSUMMARY:Forecast window (not an approval): Höhe 3\\, north\\; a\\\\b\n"), std::string::npos)
      << unfolded;
  EXPECT_NE(unfolded.find("ü\\nnext line\n"), std::string::npos) << unfolded;
  EXPECT_NE(unfolded.find("\nDTSTART:20270115T080000Z\n"), std::string::npos) << unfolded;
}

TEST(CalendarText, MakesUuidsByTheStandard) {
  EXPECT_EQ(uuid_of("6ba7b810-9dad-11d1-80b4-00c04fd430c8", "www.example.com"), "2ed6657d-e927-568b-95e1-2665a8aea6a2")
      << "by Python's uuid.uuid5";
  EXPECT_EQ(uuid_of("6ba7b810-9dad-11d1-80b4-00c04fd430c8", "python.org"), "886313e1-3b8a-5372-9b90-0c9aee199e5d")
      << "the example of Python's documentation";
  EXPECT_EQ(uuid_of("nothing", "www.example.com"), "");
}

TEST_F(CalendarApi, AnEventStaysTheSameWhateverBecomesOfItsWindow) {
  const std::string path = link(), uid = event(path, "sawpit-ridge", "2027-04-02")["UID"];
  const std::string name_space = *must(rig->store().note(kCalendarNamespaceNote));
  EXPECT_EQ(uid, uuid_of(name_space, "sawpit-ridge|2027-04-02"));
  EXPECT_EQ(standing(path), "TENTATIVE 0 TRANSPARENT");
  const Answer stop = rig->call(
      "POST", "/stops",
      R"({"scope":{"unit":"sawpit-ridge"},"from":"2027-04-02","to":"2027-04-02","kind":"event","why":"school sports day"})");
  ASSERT_EQ(stop.status, 201) << stop.text;
  EXPECT_EQ(standing(path), "CANCELLED 1 TRANSPARENT");
  Properties gone = event(path, "sawpit-ridge", "2027-04-02");
  EXPECT_TRUE(gone["SUMMARY"].starts_with("No window: ")) << gone["SUMMARY"];
  EXPECT_NE(gone["DESCRIPTION"].find("school sports day"), std::string::npos) << gone["DESCRIPTION"];
  const std::string id(stop.body.at("id").as_string());
  ASSERT_EQ(rig->call("DELETE", "/stops/" + id + "?reason=moved").status, 200);
  EXPECT_EQ(standing(path), "TENTATIVE 2 TRANSPARENT");
  const Answer booked = rig->call("POST", "/bookings", R"({"unit":"sawpit-ridge","date":"2027-04-02","state":"draft"})");
  EXPECT_EQ(standing(path), "TENTATIVE 2 TRANSPARENT") << "a draft commits nobody";
  const std::string booking = "/bookings/" + std::string(booked.body.at("id").as_string());
  ASSERT_EQ(rig->call("PUT", booking, R"({"unit":"sawpit-ridge","date":"2027-04-02","state":"committed"})").status, 200);
  EXPECT_EQ(standing(path), "CONFIRMED 3 OPAQUE");
  EXPECT_TRUE(event(path, "sawpit-ridge", "2027-04-02")["SUMMARY"].starts_with("Forecast window (not an approval)\\, committed"));
  ASSERT_EQ(rig->call("PUT", booking, R"({"unit":"sawpit-ridge","date":"2027-04-02","state":"stood_down"})").status, 200);
  EXPECT_EQ(standing(path), "TENTATIVE 4 TRANSPARENT");
  EXPECT_EQ(event(path, "sawpit-ridge", "2027-04-02")["UID"], uid);
  ASSERT_EQ(rig->call("DELETE", "/units/sawpit-ridge?reason=sold").status, 204);
  EXPECT_EQ(standing(path), "CANCELLED 5 TRANSPARENT");
}

TEST_F(CalendarApi, WordsAloneChangeNoSequence) {
  const std::string path = link(), before = read(path).header("ETag");
  const UtcTime later = rig->clock.now() + hours(2);
  rig->judge_at(later);
  ASSERT_EQ(rig->call("PATCH", "/units/sawpit-ridge", R"({"properties":{"name":"Sawpit, the ridge"}})").status, 200);
  Properties of = event(path, "sawpit-ridge", "2027-04-02");
  EXPECT_EQ(of["SEQUENCE"], "0");
  EXPECT_EQ(of["SUMMARY"], "Forecast window (not an approval): Sawpit\\, the ridge sawpit-ridge");
  EXPECT_EQ(of["LAST-MODIFIED"], compact(utc_text(later)));
  EXPECT_EQ(of["DTSTAMP"], of["LAST-MODIFIED"]);
  EXPECT_NE(read(path).header("ETag"), before);
}

TEST_F(CalendarApi, APictureSeenAgainAndARestartChangeNothing) {
  const std::string path = link();
  ASSERT_EQ(rig->call("POST", "/bookings", R"({"unit":"sawpit-ridge","date":"2027-04-02","state":"committed"})").status, 201);
  const Answer first = read(path);
  const auto again = [&](const char* how) {
    const Answer now = read(path);
    EXPECT_EQ(now.text, first.text) << how;
    EXPECT_EQ(now.header("ETag"), first.header("ETag")) << how;
  };
  again("read twice");
  must(rig->parts().engine->judge_again({}));
  again("judged twice");
  rig->begin_calendars_again();
  again("after a restart");
  must(rig->parts().engine->judge_again({"sawpit-ridge"}));
  again("one unit judged after it");
}

TEST_F(CalendarApi, WhatIsOverLeavesAfterTwoDays) {
  const std::string path = link(), date = "2027-03-31", unit = unit_met_on(date);
  const Properties planned = event(path, unit, date);
  ASSERT_FALSE(planned.empty()) << unit;
  rig->judge_at(must(parse_instant("2027-04-02T23:30:00+11:00")));
  EXPECT_EQ(event(path, unit, date), planned) << "what was shown of a date stays when it is over";
  rig->judge_at(must(parse_instant("2027-04-03T00:30:00+11:00")));
  EXPECT_TRUE(event(path, unit, date).empty());
}

TEST_F(CalendarApi, IsNotSentAgainToWhomHasIt) {
  const std::string path = link();
  const Answer first = read(path);
  const std::string tag = first.header("ETag");
  EXPECT_TRUE(tag.starts_with("\"")) << "a strong one";
  EXPECT_NE(first.header("Cache-Control").find("private"), std::string::npos);
  const Answer second = read(path, {{"if-none-match", tag}});
  EXPECT_EQ(second.status, 304);
  EXPECT_EQ(second.text, "");
  EXPECT_EQ(second.header("ETag"), tag);
  const Answer packed = read(path, {{"accept-encoding", "gzip"}});
  EXPECT_EQ(packed.header("Content-Encoding"), "gzip");
  EXPECT_NE(packed.header("ETag"), tag);
  EXPECT_EQ(read(path, {{"if-none-match", packed.header("ETag")}, {"accept-encoding", "gzip"}}).status, 304);
  EXPECT_EQ(rig->call("HEAD", path).status, 200);
  ASSERT_EQ(rig->call("PATCH", "/units/sawpit-ridge", R"({"properties":{"name":"Another"}})").status, 200);
  EXPECT_EQ(read(path, {{"if-none-match", tag}}).status, 200);
}

TEST_F(CalendarApi, ShowsChosenUnitsAlone) {
  const Answer made = rig->call("POST", "/calendars", R"({"units":["sawpit-ridge","windrow-flat"],"name":"Mine"})");
  ASSERT_EQ(made.status, 201) << made.text;
  EXPECT_EQ(made.at("/units"), R"(["sawpit-ridge","windrow-flat"])");
  EXPECT_EQ(made.at("/district"), "null");
  const std::string address(made.body.at("address").as_string());
  for (const auto& [name, properties] : events_in(read(address.substr(address.find("/cal/"))).text))
    EXPECT_TRUE(name.empty() || name.starts_with("sawpit-ridge?") || name.starts_with("windrow-flat?")) << name;
}

TEST_F(CalendarApi, HasANameOfOneLine) {
  const std::string path = link(R"({"district":"tallowmere","name":"Mine\r\nBEGIN:VEVENT, and; more"})");
  Properties own = events_in(read(path).text)[""];
  EXPECT_EQ(own["NAME"], "Mine  BEGIN:VEVENT\\, and\\; more");
  EXPECT_TRUE(own["X-WR-CALNAME"].starts_with("Mine  BEGIN:VEVENT")) << own["X-WR-CALNAME"];
}

TEST_F(CalendarApi, SaysWhatIsWrongWithAWish) {
  const auto mistakes = [&](const std::string& wish) { return rig->call("POST", "/calendars", wish).mistakes(); };
  EXPECT_EQ(mistakes("{}"), (Strings{" required"}));
  EXPECT_EQ(mistakes(R"({"district":"tallowmere","units":["sawpit-ridge"]})"), (Strings{" required"}));
  EXPECT_EQ(mistakes(R"({"district":"nowhere","colour":1})"), (Strings{"/colour unknown_member", "/district unknown_district"}));
  EXPECT_EQ(mistakes(R"({"units":["sawpit-ridge","nobody",7]})"), (Strings{"/units/1 unknown_unit", "/units/2 unknown_unit"}));
}

TEST_F(CalendarApi, TellsItsLinkOnceAndKeepsAHash) {
  const std::string path = link(), secret = path.substr(5, 43);
  ASSERT_EQ(path, "/cal/" + secret + ".ics");
  for (const char* where : {"/calendars", "/calendars/c-0001", "/audit"}) {
    const Answer answer = rig->get(where);
    EXPECT_EQ(answer.status, 200) << where;
    EXPECT_NE(answer.text.find("c-0001"), std::string::npos) << where;
    EXPECT_EQ(answer.text.find(secret), std::string::npos) << where;
  }
  // Slips that bring a link into a path which is refused.
  for (const auto& [method, target] : {std::pair("GET", path + "/more"), std::pair("POST", path), std::pair("GET", path + "?x=1"),
                                       std::pair("GET", "/units/..%2Fcal" + path), std::pair("PUT", path + ".bak")}) {
    const Answer answer = rig->call(method, target);
    EXPECT_GE(answer.status, 400) << target;
    EXPECT_EQ(answer.text.find(secret.substr(0, 20)), std::string::npos) << answer.text;
  }
  const TempDir folder;
  const std::string backup = (folder.path() / "copy.db").string();
  must(rig->store().backup(backup));
  EXPECT_EQ(file_bytes(backup).find(secret), std::string::npos);
  EXPECT_NE(file_bytes(backup).find("Burn windows: Tallowmere"), std::string::npos) << "so that the search means something";
}

TEST_F(CalendarApi, IsThereNoLongerOnceItWasTakenBack) {
  const std::string path = link();
  ASSERT_EQ(rig->call("DELETE", "/calendars/c-0001").status, 204);
  const Answer gone = read(path);
  EXPECT_EQ(gone.status, 410);
  EXPECT_EQ(gone.at("/type"), R"("/problems/taken_back")");
  EXPECT_EQ(rig->get("/calendars/c-0001").at("/state"), R"("taken_back")");
  EXPECT_EQ(rig->call("DELETE", "/calendars/c-0001").status, 404);
}

TEST_F(CalendarApi, EndsWithTheTokenItWasMadeBy) {
  Token wanted;
  wanted.role = Role::officer;
  wanted.expires_at = rig->clock.now() + hours(48);
  rig->use_token(rig->token(wanted));
  const std::string of_expiring = link();
  const std::string revoked = rig->token(Role::officer);
  rig->use_token(revoked);
  const std::string of_revoked = link();
  EXPECT_EQ(rig->get("/calendars/c-0001").at("/ends_at"), "\"" + utc_text(wanted.expires_at) + "\"");
  EXPECT_EQ(read(of_revoked).status, 200);
  must(rig->store().revoke_token({}, rig->clock.now(), revoked.substr(6, 8)));
  rig->use_token("");
  EXPECT_EQ(read(of_revoked).status, 410);
  EXPECT_EQ(read(of_expiring).status, 200);
  EXPECT_EQ(rig->get("/calendars/c-0002").at("/state"), R"("ended")");
  rig->clock.set(wanted.expires_at);
  EXPECT_EQ(read(of_expiring).status, 410);
}

TEST_F(CalendarApi, AnUnknownLinkIsNoFailedSignIn) {
  rig->use_token(rig->token(Role::officer));
  for (int i = 0; i < 30; ++i) {
    const Answer answer = read("/cal/" + std::string(43, static_cast<char>('a' + i % 26)) + ".ics");
    EXPECT_EQ(answer.status, 404);
    EXPECT_EQ(answer.at("/type"), R"("/problems/not_found")");
  }
  EXPECT_EQ(rig->get("/units").status, 200);
}

TEST_F(CalendarApi, IsItsMakersAndTheirsWhoLookAfterAll) {
  Token other;
  other.role = Role::officer;
  other.name = "another";
  rig->use_token(rig->token(Role::officer));
  link();
  EXPECT_EQ(rig->get("/calendars").at("/calendars/0/id"), R"("c-0001")");
  rig->use_token(rig->token(other));
  EXPECT_EQ(rig->get("/calendars").text, R"({"calendars":[]})");
  EXPECT_EQ(rig->call("DELETE", "/calendars/c-0001").status, 404);
  rig->use_token(rig->token(Role::coordinator, {"elsewhere"}));
  EXPECT_EQ(rig->get("/calendars").text, R"({"calendars":[]})") << "nor of a district that they may not see";
  EXPECT_EQ(rig->call("POST", "/calendars", R"({"district":"tallowmere"})").status, 422);
  EXPECT_EQ(rig->call("POST", "/calendars", R"({"units":["sawpit-ridge"]})").status, 422);
  rig->use_token(rig->token(Role::operator_));
  EXPECT_EQ(rig->call("DELETE", "/calendars/c-0001").status, 204);
}

TEST_F(CalendarApi, AUnitThatGoesToADistrictTheTokenMayNotSeeLeaves) {
  rig->use_token(rig->token(Role::coordinator, {"tallowmere"}));
  const std::string other = unit_met_on("2027-03-31"), path = link(R"({"units":["sawpit-ridge",")" + other + R"("]})");
  rig->use_token("");
  EXPECT_FALSE(event(path, "sawpit-ridge", "2027-04-02").empty());
  ASSERT_EQ(rig->call("PATCH", "/units/sawpit-ridge", R"({"properties":{"district":"elsewhere"}})").status, 200);
  EXPECT_TRUE(event(path, "sawpit-ridge", "2027-04-02").empty());
  EXPECT_FALSE(event(path, other, "2027-03-31").empty());
}

}  // namespace
}  // namespace hakea::test
