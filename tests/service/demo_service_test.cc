// The demo as a newcomer meets it: the built program on an empty folder, its digest, its clock, its answers while a run is
// published.
#include <gtest/gtest.h>

#include <atomic>
#include <filesystem>
#include <map>
#include <set>
#include <sstream>
#include <thread>

#include "service/input/json.h"
#include "tests/support/case_file.h"
#include "tests/support/daemon.h"
#include "tests/support/json_answer.h"
#include "tests/support/program_run.h"

namespace hakea::test {
namespace {

namespace json = service::json;

std::set<std::string> lines_of(const std::string& text) {
  std::set<std::string> lines;
  std::istringstream stream(text);
  for (std::string line; std::getline(stream, line);) lines.insert(line);
  return lines;
}

// The runs that a body of /days rests on, by feed: more than one of a feed would be half of each.
std::map<std::string, std::set<std::string>> runs_in(const json::value& days) {
  std::map<std::string, std::set<std::string>> runs;
  for (const json::value& date : days.at("days").as_array())
    for (const json::value& unit : date.at("units").as_array())
      for (const json::value& feed : unit.at("feeds").as_array()) runs[text(feed.at("feed"))].insert(text(feed.at("run")));
  return runs;
}

class DemoService : public ::testing::Test {
 protected:
  std::string data() const { return (folder_.path() / "data").string(); }
  std::vector<std::string> words() const { return {"demo", "--data", data(), "--port", "0"}; }
  TempDir folder_;
};

TEST_F(DemoService, OncePrintsTheDigestAndAgainOnTheSameFolder) {
  for (int i = 0; i < 2; ++i) {
    const Outcome once = run_program(HAKEA_PROGRAM, "demo --once --data '" + data() + "'", folder_);
    ASSERT_EQ(once.code, 0) << once.err;
    const auto lines = lines_of(once.out);
    for (const char* heading : {"Stops today", "Open burns", "Planned today and tomorrow", "What changed", "Best candidates",
                                "Near misses", "Days 5–10"})
      EXPECT_TRUE(lines.contains(heading)) << heading << " in\n" << once.out;
    EXPECT_TRUE(once.out.starts_with("Tallowmere, Tuesday 30 March 2027, 06:3")) << once.out;
    EXPECT_NE(once.out.find("Demo data. Fictional district."), std::string::npos);
    EXPECT_NE(once.out.find("the fine run of Tuesday 05:00 lacks hours 31-34 of everything and is not used"), std::string::npos)
        << once.out;
    EXPECT_NE(once.out.find("Log Landing Heaps, in mop-up, lit Sunday 28 March: worst of the next 72 hours calculated FFDI"),
              std::string::npos)
        << once.out;
    EXPECT_NE(once.err.find("Fictional district"), std::string::npos) << once.err;
    EXPECT_NE(once.err.find("every caller there acts as coordinator"), std::string::npos) << once.err;
  }
}

TEST_F(DemoService, SaysOfEachUnitWhatAssessSaysOfTheSameFeeds) {
  const std::string config = folder_
                                 .write("feeds.toml",
                                        "[feeds.fine]\npath = \"data/feeds/fine\"\npattern = \"*T12Z.nc\"\n"
                                        "hours = \"0/90/1\"\n[feeds.coarse]\npath = \"data/feeds/coarse\"\n")
                                 .string(),
                    demo_folder = (std::filesystem::path(tests_folder()).parent_path() / "config/demo").string();
  Daemon demo(HAKEA_PROGRAM, words());
  const Outcome assessed =
      run_program(HAKEA_PROGRAM,
                  "assess --units '" + demo_folder + "/units.geojson' --district '" + demo_folder +
                      "/district.json' --now 2027-03-30T06:30:00+11:00 --format json --feed-config '" + config + "'",
                  folder_);
  ASSERT_EQ(assessed.code, 0) << assessed.err;
  const auto answer = service::parse_json(assessed.out, "assess");
  ASSERT_TRUE(answer);
  ASSERT_EQ(answer->at("units").as_array().size(), 16U);
  for (const json::value& unit : answer->at("units").as_array())
    EXPECT_EQ(json::serialize(unit.at("days")),
              json::serialize(document(demo.get("/units/" + text(unit.at("id")) + "/days")).at("days")))
        << text(unit.at("id"));
}

TEST_F(DemoService, TheClockPublishesEachRunOnceAndShowsTheIncompleteOne) {
  Daemon demo(HAKEA_PROGRAM, words());
  const auto newest_fine = [&] {
    const auto runs = runs_in(document(demo.get("/days")));
    EXPECT_EQ(runs.at("fine").size(), 1U);
    EXPECT_EQ(runs.at("coarse").size(), 1U);
    return *runs.at("fine").begin();
  };
  EXPECT_EQ(newest_fine(), "fine.2027-03-29T12:00:00Z") << "the run of 18 UTC is incomplete";
  // A fine run is at hand an hour after its reference time.
  const std::map<std::string, std::string> run_at{{"2027-03-30T12:05:00+11:00", "fine.2027-03-30T00:00:00Z"},
                                                  {"2027-03-30T18:05:00+11:00", "fine.2027-03-30T06:00:00Z"},
                                                  {"2027-03-31T00:05:00+11:00", "fine.2027-03-30T12:00:00Z"},
                                                  {"2027-03-31T06:05:00+11:00", "fine.2027-03-30T18:00:00Z"}};
  for (const auto& [time, run] : run_at) {
    const RawAnswer moved = demo.ask("POST", "/demo/clock", "{\"to\":\"" + time + "\"}");
    ASSERT_EQ(moved.status, 200) << moved.body;
    EXPECT_EQ(newest_fine(), run);
  }
  const RawAnswer back = demo.ask("POST", "/demo/clock", R"({"to":"2027-03-30T12:05:00+11:00"})");
  EXPECT_GE(back.status, 400) << back.body;
  EXPECT_NE(back.body.find("backwards"), std::string::npos) << back.body;
  EXPECT_GE(demo.ask("POST", "/demo/clock", R"({"to":"2037-03-30T12:05:00+11:00"})").status, 400);

  std::multiset<std::string> ids;
  bool is_incomplete_shown = false;
  const json::value answer = document(demo.get("/runs"));
  for (const json::value& run : answer.at("runs").as_array()) {
    ids.insert(text(run.at("id")));
    EXPECT_EQ(run.at("revision").to_number<int>(), 1) << text(run.at("id"));
    const bool is_incomplete = text(run.at("id")) == "fine.2027-03-29T18:00:00Z";
    EXPECT_EQ(text(run.at("state")), is_incomplete ? "incomplete" : "complete") << text(run.at("id"));
    is_incomplete_shown = is_incomplete_shown || is_incomplete;
  }
  EXPECT_TRUE(is_incomplete_shown);
  for (const auto& [time, run] : run_at) EXPECT_EQ(ids.count(run), 1U) << run;
  EXPECT_EQ(demo.end(SIGTERM), 0);
}

struct ShownEvent {
  std::string starts, status;
  int sequence = 0;
};
// Of a calendar, by UID.
std::map<std::string, ShownEvent> events_in(const std::string& calendar) {
  std::map<std::string, ShownEvent> events;
  std::istringstream stream(calendar.substr(std::min(calendar.find("BEGIN:VEVENT"), calendar.size())));
  ShownEvent* event = nullptr;
  for (std::string line; std::getline(stream, line);) {
    const std::string value = line.substr(std::min(line.find(':') + 1, line.size()));
    if (line.starts_with("UID:")) event = &events[value];
    if (line.starts_with("DTSTART:")) event->starts = value;
    if (line.starts_with("STATUS:")) event->status = value.substr(0, value.find('\r'));
    if (line.starts_with("SEQUENCE:")) event->sequence = std::stoi(value);
  }
  return events;
}

TEST_F(DemoService, ACalendarFollowsTheRunsAndIsTheSameAfterAKill) {
  std::string path, followed;
  const auto read = [&](const Daemon& demo) {
    RawClient client(demo.port());
    const RawAnswer answer = client.ask("GET " + path + " HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n");
    EXPECT_EQ(answer.status, 200) << answer.body;
    return answer.body;
  };
  {
    Daemon demo(HAKEA_PROGRAM, words());
    const RawAnswer made = demo.ask("POST", "/calendars", R"({"district":"tallowmere"})");
    ASSERT_EQ(made.status, 201) << made.body;
    path = text(service::parse_json(made.body, "answer")->at("address"));
    const auto first = events_in(read(demo));
    EXPECT_GT(first.size(), 5U);
    for (const auto& [uid, event] : first) EXPECT_EQ(event.sequence, 0) << uid;
    // The next day's runs lose a window of these and move one.
    ASSERT_EQ(demo.ask("POST", "/demo/clock", R"({"to":"2027-03-31T06:30:00+11:00"})").status, 200);
    followed = read(demo);
    const auto then = events_in(followed);
    int lost = 0, moved = 0;
    for (const auto& [uid, before] : first) {
      ASSERT_TRUE(then.contains(uid)) << "an event left before its date was over";
      const ShownEvent& after = then.at(uid);
      lost += after.status == "CANCELLED";
      moved += after.status == "TENTATIVE" && after.starts != before.starts;
      const bool is_changed = after.starts != before.starts || after.status != before.status;
      EXPECT_GE(after.sequence, is_changed ? 1 : 0) << uid;
    }
    EXPECT_GE(lost, 1);
    EXPECT_GE(moved, 1);
    demo.end(SIGKILL);
    EXPECT_EQ(demo.log().find(path.substr(5, 20)), std::string::npos) << "a link is not logged";
  }
  Daemon again(HAKEA_PROGRAM, words());
  EXPECT_EQ(read(again), followed);
}

TEST_F(DemoService, DaysAreWhollyOldOrWhollyNewWhileRunsArePublished) {
  Daemon demo(HAKEA_PROGRAM, words());
  std::atomic<bool> is_done = false;
  std::atomic<int> bodies = 0;
  std::set<std::string> mixed, seen;
  std::thread caller([&] {
    while (!is_done) {
      const RawAnswer answer = demo.get("/days");
      if (answer.status != 200) {
        mixed.insert("status " + std::to_string(answer.status) + " " + answer.body);
        continue;
      }
      ++bodies;
      for (const auto& [feed, runs] : runs_in(document(answer))) {
        if (runs.size() != 1) mixed.insert(*runs.begin() + " with " + *runs.rbegin());
        seen.insert(*runs.begin());
      }
    }
  });
  for (const char* time :
       {"2027-03-30T12:05:00+11:00", "2027-03-30T18:05:00+11:00", "2027-03-31T00:05:00+11:00", "2027-03-31T06:05:00+11:00"})
    EXPECT_EQ(demo.ask("POST", "/demo/clock", std::string("{\"to\":\"") + time + "\"}").status, 200);
  is_done = true;
  caller.join();
  EXPECT_TRUE(mixed.empty()) << *mixed.begin();
  EXPECT_GT(bodies, 10);
  EXPECT_GT(seen.size(), 3U) << "the bodies came before and after publications";
  EXPECT_EQ(demo.end(SIGTERM), 0) << "the thread sanitizer ends what had a race otherwise: " << demo.log();
}

TEST_F(DemoService, TheClockGoesOnFromWhereItWas) {
  {
    Daemon demo(HAKEA_PROGRAM, words());
    ASSERT_EQ(demo.ask("POST", "/demo/clock", R"({"to":"2027-03-30T18:05:00+11:00"})").status, 200);
    EXPECT_EQ(demo.end(SIGTERM), 0);
  }
  Daemon again(HAKEA_PROGRAM, words());
  EXPECT_NE(again.log().find("The demo's clock stands at 2027-03-30T07:0"), std::string::npos) << again.log();
}

TEST_F(DemoService, AStopTakesTheBestDayAtOnceAndTheAuditTellsBoth) {
  Daemon demo(HAKEA_PROGRAM, words());
  const auto best = [&] { return document(demo.get("/units/sawpit-ridge/days")).at("days").at(0); };
  const json::value before = best();
  ASSERT_EQ(text(before.at("verdict")), "met") << json::serialize(before);
  const std::string date = text(before.at("date"));
  const RawAnswer stop = demo.ask(
      "POST", "/stops",
      R"({"scope":{"unit":"sawpit-ridge"},"kind":"other","why":"road works","from":")" + date + R"(","to":")" + date + "\"}");
  ASSERT_EQ(stop.status, 201) << stop.body;
  const std::string id = text(service::parse_json(stop.body, "stop")->at("id"));
  const json::value answer = document(demo.get("/units/sawpit-ridge/days"));
  for (const json::value& day : answer.at("days").as_array())
    if (text(day.at("date")) == date) {
      EXPECT_EQ(text(day.at("verdict")), "blocked");
    }
  EXPECT_GE(demo.ask("DELETE", "/stops/" + id).status, 400) << "lifting needs a reason";
  EXPECT_EQ(demo.ask("DELETE", "/stops/" + id, R"({"reason":"road is open"})").status, 200);
  EXPECT_EQ(text(best().at("date")), date);
  EXPECT_EQ(text(best().at("verdict")), "met");
  const std::string audit = demo.get("/audit").body;
  EXPECT_NE(audit.find("road works"), std::string::npos) << audit;
  EXPECT_NE(audit.find("road is open"), std::string::npos) << audit;
}

TEST_F(DemoService, ATrialOfAnyUnitEqualsWhatStoringGives) {
  Daemon demo(HAKEA_PROGRAM, words());
  int changed = 0;
  const json::value units = document(demo.get("/units"));
  for (const json::value& feature : units.at("features").as_array()) {
    const std::string unit = "/units/" + text(feature.at("id"));
    const RawAnswer written = demo.get(unit + "/prescription");
    json::value prescription = document(written);
    json::object& object = prescription.as_object();
    object["duration_h"] = object.at("duration_h").to_number<double>() + 1;
    object.at("limits").as_array().pop_back();
    const json::value trial = document(demo.ask("POST", unit + "/trial", json::serialize(prescription)));
    changed += !trial.at("changed").as_array().empty();
    const RawAnswer put = demo.ask("PUT", unit + "/prescription", json::serialize(prescription), "If-Match: \"r1\"\r\n");
    ASSERT_EQ(put.status, 200) << unit << put.body;
    EXPECT_EQ(json::serialize(trial.at("days")), json::serialize(document(demo.get(unit + "/days")).at("days"))) << unit;
  }
  EXPECT_GT(changed, 5) << "units whose days the other prescription changes";
}

TEST_F(DemoService, TheSecondServiceOnAFolderIsRefused) {
  Daemon demo(HAKEA_PROGRAM, words());
  const Outcome second = run_program(HAKEA_PROGRAM, "demo --port 0 --data '" + data() + "'", folder_);
  EXPECT_EQ(second.code, 1);
  EXPECT_NE(second.err.find("[in_use]"), std::string::npos) << second.err;
}

}  // namespace
}  // namespace hakea::test
