// The service is killed at random moments, during arrival, evaluation, publication and writes. After each restart everything
// it had acknowledged is there, the published run is whole, and what was evaluated is what it was.
#include <gtest/gtest.h>

#include <algorithm>
#include <future>
#include <map>
#include <random>
#include <regex>
#include <set>

#include "service/input/json.h"
#include "service/output/time_text.h"
#include "tests/support/daemon.h"
#include "tests/support/json_answer.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {
namespace {

namespace json = service::json;
using std::chrono::hours;

// A list of the service, through all its pages.
json::array all(const Daemon& service, std::string path, const char* list) {
  json::array found;
  while (!path.empty()) {
    const RawAnswer page = service.get(path);
    const json::value entries = document(page);
    for (const json::value& entry : entries.at(list).as_array()) found.push_back(entry);
    std::smatch next;
    path = std::regex_search(page.head, next, std::regex("Link: </api/v1(.*)>; rel=\"next\"")) ? next[1].str() : "";
  }
  return found;
}

// What the service acknowledged, and what it once said.
class Memory {
 public:
  std::map<std::string, std::string> bookings;  // id to note
  std::map<std::string, bool> stops;            // id, whether it stands
  UtcTime clock = *service::parse_instant("2027-03-30T06:30:00+11:00");

  // Everything that must hold of a service that has just started.
  void expect_of(const Daemon& service) {
    expect_entries(service);
    expect_whole_run(service);
    expect_same_evaluation(service);
    expect_same_days(service);
  }

 private:
  void expect_entries(const Daemon& service) {
    std::map<std::string, std::string> found;
    for (const json::value& booking : all(service, "/bookings", "bookings"))
      if (const json::value* note = booking.as_object().if_contains("note")) found[text(booking.at("id"))] = text(*note);
    for (const auto& [id, note] : bookings) EXPECT_EQ(found[id], note) << "booking " << id;
    std::set<std::string> standing;
    for (const json::value& stop : all(service, "/stops", "stops")) standing.insert(text(stop.at("id")));
    for (const auto& [id, stands] : stops) EXPECT_EQ(standing.contains(id), stands) << "stop " << id;
  }

  static void expect_whole_run(const Daemon& service) {
    std::map<std::string, std::set<std::string>> runs;
    std::set<std::string> units;
    const json::value answer = document(service.get("/days"));
    for (const json::value& date : answer.at("days").as_array())
      for (const json::value& unit : date.at("units").as_array()) {
        units.insert(text(unit.at("unit")));
        for (const json::value& feed : unit.at("feeds").as_array()) runs[text(feed.at("feed"))].insert(text(feed.at("run")));
      }
    EXPECT_EQ(units.size(), 16U);
    for (const auto& [feed, ids] : runs) EXPECT_EQ(ids.size(), 1U) << feed << ": " << *ids.begin() << " and " << *ids.rbegin();
  }

  // A run has one revision, was computed once, and its hours stay what they were.
  void expect_same_evaluation(const Daemon& service) {
    const json::value answer = document(service.get("/runs"));
    for (const json::value& run : answer.at("runs").as_array()) {
      const std::string id = text(run.at("id"));
      EXPECT_EQ(run.at("revision").to_number<int>(), 1) << id;
      const auto [computed, is_new] = computed_at_.emplace(id, json::serialize(run.at("computed_at")));
      if (!is_new) {
        EXPECT_EQ(computed->second, json::serialize(run.at("computed_at"))) << id << "\n" << service.log();
      }
    }
    const std::string runs = newest_runs(service);
    for (const char* unit : {"sawpit-ridge", "blue-gum-spur"}) {
      const json::value shown = document(service.get(
          std::string("/units/") + unit + "/hours?quantities=air_temperature,litter_moisture,kbdi,ffdi,mixing_height"));
      remember(hours_, unit + runs + text(shown.at("times").at(0)), json::serialize(shown.at("quantities")));
    }
  }

  // The same runs, entries and hour give the same days.
  void expect_same_days(const Daemon& service) {
    const std::string hour = text(document(service.get("/status")).at("now")).substr(0, 13);
    const std::string key = newest_runs(service) + hour + json::serialize(all(service, "/bookings", "bookings")) +
                            json::serialize(all(service, "/stops", "stops"));
    remember(days_, key, json::serialize(document(service.get("/days")).at("days")));
  }

  static std::string newest_runs(const Daemon& service) {
    std::string runs;
    const json::value answer = document(service.get("/feeds"));
    for (const json::value& feed : answer.at("feeds").as_array()) runs += " " + text(feed.at("newest_complete").at("id"));
    return runs;
  }

  void remember(std::map<std::string, std::string>& known, const std::string& key, const std::string& now) {
    const auto [before, is_new] = known.emplace(key, now);
    if (is_new) return;
    ++compared_;
    const auto other = std::mismatch(now.begin(), now.end(), before->second.begin(), before->second.end()).first;
    EXPECT_EQ(now.size(), before->second.size()) << key;
    EXPECT_TRUE(now == before->second) << key.substr(0, 200) << "\nfrom " << now.substr(std::size_t(other - now.begin()), 100);
  }

 public:
  int compared() const { return compared_; }

 private:
  std::map<std::string, std::string> computed_at_, hours_, days_;
  int compared_ = 0;
};

// Writes whatever comes to mind until the service is gone; remembers what was acknowledged.
void write_until_killed(const Daemon& service, std::mt19937& random, Memory& memory) {
  const auto any = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  for (int number = 0;; ++number) {
    const int what = any(10);
    if (what < 4) {
      const std::string note = "note " + std::to_string(random());
      const RawAnswer made = service.ask(
          "POST", "/bookings",
          R"({"unit":"lyrebird-gully","date":"2027-04-0)" + std::to_string(1 + any(8)) + R"(","note":")" + note + "\"}");
      if (made.status == 0) return;
      ASSERT_EQ(made.status, 201) << made.body;
      memory.bookings[text(service::parse_json(made.body, "booking")->at("id"))] = note;
    } else if (what < 7) {
      const std::string date = "2027-04-0" + std::to_string(1 + any(8));
      const RawAnswer made = service.ask(
          "POST", "/stops",
          R"({"scope":{"unit":"sawpit-ridge"},"kind":"other","why":"drill","from":")" + date + R"(","to":")" + date + "\"}");
      if (made.status == 0) return;
      ASSERT_EQ(made.status, 201) << made.body;
      memory.stops[text(service::parse_json(made.body, "stop")->at("id"))] = true;
    } else if (what < 9) {
      const auto standing = std::find_if(memory.stops.begin(), memory.stops.end(), [](const auto& stop) { return stop.second; });
      if (standing == memory.stops.end()) continue;
      const std::string id = standing->first;
      const RawAnswer lifted = service.ask("DELETE", "/stops/" + id, R"({"reason":"the drill is over"})");
      if (lifted.status == 0) {
        memory.stops.erase(id);  // it may stand or not: nothing was acknowledged
        return;
      }
      ASSERT_EQ(lifted.status, 200) << lifted.body;
      memory.stops[id] = false;
    } else {
      const UtcTime to = *service::parse_instant(text(document(service.get("/status")).at("now"))) + hours(1 + any(4));
      const RawAnswer moved = service.ask("POST", "/demo/clock", "{\"to\":\"" + service::utc_text(to) + "\"}");
      if (moved.status == 0) return;
      ASSERT_EQ(moved.status, 200) << moved.body;
      memory.clock = to;
    }
  }
}

// Moments are drawn from a time in which the clock can be moved; it is longer with the sanitizer.
#ifdef __SANITIZE_ADDRESS__
constexpr unsigned kMostMs = 6000;
#else
constexpr unsigned kMostMs = 1500;
#endif

TEST(Kill, NothingAcknowledgedIsLostAtRandomMoments) {
  const TempDir folder;
  const std::vector<std::string> words{"demo", "--data", (folder.path() / "data").string(), "--port", "0"};
  std::mt19937 random(20270330);
  Memory memory;
  for (int kill = 0; kill < HAKEA_KILLS && !::testing::Test::HasFailure(); ++kill) {
    SCOPED_TRACE("kill " + std::to_string(kill));
    const bool kills_the_start = random() % 4 == 0;
    Daemon service(HAKEA_PROGRAM, words, kills_the_start ? Daemon::Returns::at_once : Daemon::Returns::when_it_listens);
    if (!kills_the_start) memory.expect_of(service);
    const std::chrono::milliseconds moment(random() % kMostMs);
    std::promise<void> never;
    std::thread killer([&, process = service.process()] {
      never.get_future().wait_for(moment);
      ::kill(process, SIGKILL);
    });
    try {
      if (!kills_the_start) write_until_killed(service, random, memory);
    } catch (const std::runtime_error&) {
      // a reading that the end cut off
    }
    killer.join();
    EXPECT_EQ(service.end(SIGKILL), -SIGKILL);
  }
  Daemon service(HAKEA_PROGRAM, words);
  memory.expect_of(service);
  EXPECT_FALSE(memory.bookings.empty());
  EXPECT_FALSE(memory.stops.empty());
  EXPECT_GT(memory.compared(), 0);
  EXPECT_GT(memory.clock, *service::parse_instant("2027-03-30T06:30:00+11:00"));
}

}  // namespace
}  // namespace hakea::test
