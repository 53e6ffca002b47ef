// The same runs give the same answers to the byte, whichever came first and however often the service was started again in
// between: the demo's feeds through the engine and the store on disk, and the answers that callers get. This program is its own
// reader and solver.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <random>

#include "service/app/demo.h"
#include "service/demo/demo_feeds.h"
#include "service/engine/plan_solver.h"
#include "service/http/api.h"
#include "service/input/json.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"
#include "tests/support/engine_rig.h"
#include "tests/support/local_request.h"
#include "tests/support/must.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

namespace fs = std::filesystem;

// Noon of the second day: eight runs are due by then, of which one lacks hours, and a day has been observed.
const UtcTime kThen = must(parse_instant("2027-03-31T12:05:00+11:00"));
// Three units that between them limit drought, litter, smoke, ventilation and the tail, one of them at several points.
constexpr std::array<std::string_view, 3> kAsked{"sawpit-ridge", "lyrebird-gully", "windrow-flat"};

// The demo's runs, written once.
const std::vector<fs::path>& runs() {
  static const TempDir folder;
  static const std::vector<fs::path> written = must(write_demo_runs_due(folder.path(), UtcTime::min(), kThen));
  return written;
}

class Identity : public ::testing::Test {
 protected:
  void begin() {
    stop();
    folder_ = std::make_unique<TempDir>();
    settings_ = demo_settings(folder_->path().string(), 0);
    for (const ingest::Feed& feed : settings_.config.feeds) fs::create_directories(feed.path);
    start();
    observe();
  }
  void start() {
    store_ = must(Store::open(folder_->path().string(), kThen));
    must(settings_.prepare(*store_, clock_));
    clock_.set(kThen);
    EngineSettings demo;
    demo.is_demo = true;
    engine_ = must(Engine::start(settings_.config, *store_, clock_, std::move(demo)));
  }
  void stop() {
    engine_.reset();
    store_.reset();
  }
  void start_again() {
    stop();
    start();
  }
  void deliver(const fs::path& run) {
    const fs::path target = folder_->path() / "feeds" / run.parent_path().filename() / run.filename();
    fs::copy_file(run, folder_->path() / "on_its_way");
    fs::rename(folder_->path() / "on_its_way", target);
    must(engine_->catch_up());
  }

  Response ask(const std::string& method, const std::string& path, const std::string& body = {}) {
    ApiParts parts;
    parts.engine = engine_.get();
    parts.store = store_.get();
    parts.clock = &clock_;
    parts.config = &settings_.config;
    parts.is_demo = true;
    parts.solver = [](const core::Program& program) { return solve_program(program); };
    return respond(parts, local_request(method, "/api/v1" + path, body));
  }
  // An answer without when its run came and was computed, which is another time each time.
  std::string told(const std::string& path) {
    const Response answer = ask("GET", path);
    EXPECT_EQ(answer.status, 200) << path << answer.bytes();
    json::value document = must(parse_json(answer.bytes(), path));
    auto* run = document.as_object().if_contains("run");
    if (run && run->is_object())
      for (const char* name : {"received_at", "computed_at", "next_expected"}) run->as_object().erase(name);
    document.as_object().erase("freshness");
    document.as_object().erase("caution");
    return json_text(document);
  }
  std::map<std::string, std::string> answers() {
    clock_.set(kThen);
    must(engine_->judge_again({}));
    std::map<std::string, std::string> all{{"/days", told("/days")}, {"/plan", told("/plan")}};
    for (const std::string_view unit : kAsked)
      for (const char* what : {"days", "verification", "history", "hours"}) {
        const std::string path = fmt::format("/units/{}/{}", unit, what);
        all.emplace(path, told(path));
      }
    return all;
  }
  static void expect_same(const std::map<std::string, std::string>& found, const std::map<std::string, std::string>& expected) {
    ASSERT_EQ(found.size(), expected.size());
    for (const auto& [path, text] : expected) {
      const std::string& other = found.at(path);
      const auto at = std::mismatch(text.begin(), text.end(), other.begin(), other.end());
      const auto from = static_cast<std::size_t>(std::max<std::ptrdiff_t>(at.first - text.begin() - 80, 0));
      EXPECT_TRUE(text == other) << path << "\nexpected … " << text.substr(from, 200) << "\nfound    … "
                                 << other.substr(std::min(from, other.size()), 200);
    }
  }

 private:
  // What was read on site on the day before, somewhat warmer and drier than any run has it.
  void observe() {
    const UtcTime from = must(parse_instant("2027-03-30T00:00:00Z"));
    json::array list;
    for (const std::string_view unit : kAsked)
      for (int h = 0; h < 24; ++h) {
        const auto value = [](double number, const char* in) { return json::object{{"value", number}, {"unit", in}}; };
        list.push_back(json::object{{"unit", unit},
                                    {"at", utc_text(from + std::chrono::hours(h))},
                                    {"kind", "reading"},
                                    {"values", json::object{{"air_temperature", value(15 + h % 12 / 2.0, "Cel")},
                                                            {"relative_humidity", value(70 - h, "%")},
                                                            {"wind_speed", value(8 + h % 5, "km/h")}}}});
      }
    const Response answer = ask("POST", "/observations", json_text(list));
    ASSERT_EQ(answer.status, 201) << answer.body;
  }

  std::unique_ptr<TempDir> folder_;
  Service::Settings settings_;
  Clock clock_;
  std::unique_ptr<Store> store_;
  std::unique_ptr<Engine> engine_;
};

TEST_F(Identity, OfDaysPlanVerificationAndHistoryInAnyOrderOfArrivalAndAfterAnyRestart) {
  ASSERT_GE(runs().size(), 8U);
  begin();
  for (const fs::path& run : runs()) deliver(run);
  const auto expected = answers();
  EXPECT_NE(expected.at("/units/sawpit-ridge/verification").find("\"called_and_came\""), std::string::npos)
      << "nothing was verified: " << expected.at("/units/sawpit-ridge/verification");
  EXPECT_NE(expected.at("/units/sawpit-ridge/days").find("\"verdict\":\"met\""), std::string::npos);
  EXPECT_NE(expected.at("/plan").find("\"proven\":true"), std::string::npos) << expected.at("/plan");
  start_again();
  expect_same(answers(), expected);

  std::vector<fs::path> order = runs();
  std::reverse(order.begin(), order.end());
  std::mt19937 random(20270331);
  for (int arrival = 0; arrival < 3; ++arrival) {
    std::string manner;
    begin();
    for (const fs::path& run : order) {
      deliver(run);
      manner += run.parent_path().filename().string() + "/" + run.filename().string() + " ";
      if (arrival == 0 || random() % 2 == 0) continue;
      start_again();
      manner += "restart ";
    }
    SCOPED_TRACE(manner);
    expect_same(answers(), expected);
    std::shuffle(order.begin(), order.end(), random);
  }
}

// The same on made-up runs: what a feed may do that the demo's do not.
class RestartedEngine : public EngineRig {
 protected:
  // The picture after each step, of an engine that goes on or of one that is started again in between.
  template <class Step>
  std::vector<std::string> pictures(int steps, bool starts_again, Step&& step) {
    store_.forget_runs();
    for (const ingest::Feed& feed : config_.feeds) {
      fs::remove_all(feed.path);
      fs::create_directories(feed.path);
    }
    start();
    std::vector<std::string> texts;
    for (int i = 0; i < steps; ++i) {
      step(i);
      catch_up();
      if (starts_again) {
        stop();
        start();
      }
      EXPECT_TRUE(engine_->judge_again({}));
      texts.push_back(text_of(*picture()));
    }
    stop();
    return texts;
  }
  static constexpr const char* kMild =
      R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":24}},
         {"quantity":"kbdi","scope":"same_day","kind":"hard","acceptable":{"max":90}})";
};

TEST_F(RestartedEngine, SaysTheSameOfRunsThatAreMembersOfOneAnother) {
  add_feed("fine", 72).lagged_runs = 3;
  enter_unit("u", kMild);
  const auto step = [&](int i) {
    const int r = 12 + 6 * i;
    set_clock(r + 1);
    put({.name = fmt::format("{}.nc", r), .reference_h = r, .warmer = i % 3 * 3.0, .rain_from = 3, .rain_to = 5});
  };
  EXPECT_TRUE(pictures(9, true, step) == pictures(9, false, step));
}

TEST_F(RestartedEngine, KeepsTheWindowsThatARunThatLacksHoursMayNotOpen) {
  ingest::Feed& fine = add_feed("fine", 72);
  fine.use_incomplete = true;
  fine.late_after = "2h";
  enter_unit("u", kMild);
  const auto step = [&](int i) {
    set_clock(12 + 6 * i + 3);
    put({.name = fmt::format("{}.nc", i), .reference_h = 12 + 6 * i, .last_lead_h = i == 1 ? 60 : 72});
  };
  const auto going_on = pictures(3, false, step);
  EXPECT_NE(going_on[1].find("\"verdict\":\"met\""), std::string::npos) << "as the whole run before it says";
  EXPECT_TRUE(pictures(3, true, step) == going_on);
}

TEST_F(RestartedEngine, CountsARunThatLacksHoursAlsoWhereItComesAfterANewerOne) {
  ingest::Feed& fine = add_feed("fine", 72);
  fine.use_incomplete = true;
  fine.late_after = "2h";
  enter_unit("u", R"({"quantity":"precipitation_amount","scope":"before","hours":24,"kind":"hard","acceptable":{"max":2}})");
  const std::vector<MadeUpRun> runs{{.name = "a.nc", .reference_h = 6},
                                    {.name = "b.nc", .reference_h = 24, .last_lead_h = 30, .rain_from = 1, .rain_to = 4},
                                    {.name = "c.nc", .reference_h = 36}};
  const auto in_order = [&](std::vector<std::size_t> order) {
    return [this, &runs, order](int i) {
      set_clock(40);
      put(runs[order[static_cast<std::size_t>(i)]]);
    };
  };
  const std::string expected = pictures(3, false, in_order({0, 1, 2})).back();
  for (const auto& order : {std::vector<std::size_t>{0, 2, 1}, {2, 1, 0}, {1, 2, 0}})
    for (const bool starts_again : {false, true})
      EXPECT_TRUE(pictures(3, starts_again, in_order(order)).back() == expected)
          << order[0] << order[1] << order[2] << starts_again;
}

TEST_F(RestartedEngine, ReadsARunFromTheFutureOnceItsTimeHasCome) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  put({.name = "ahead.nc", .reference_h = 21});
  catch_up();
  ASSERT_EQ(run("fine.2027-03-29T21:00:00Z")->state, "refused");
  stop();
  set_clock(20.5);
  start();
  catch_up();
  EXPECT_EQ(run("fine.2027-03-29T21:00:00Z")->state, "complete");
}

TEST_F(RestartedEngine, GoesOnFromAReadingWheneverItWasEntered) {
  add_feed("fine", 72);
  constexpr int kRuns = 28;  // a fortnight: longer than hours are looked back
  const auto with_reading_after = [&](int step) {
    enter_unit("u", kMild);
    enter(EntryKind::observation, "1", std::nullopt);
    return pictures(kRuns, false, [this, step](int i) {
      set_clock(12 + 12 * i + 1);
      put({.name = fmt::format("{}.nc", i), .reference_h = 12 + 12 * i, .rain_from = 3, .rain_to = 5});
      if (i == step)
        enter(
            EntryKind::observation, "1",
            R"({"unit":"u","at":"2027-03-31T05:00:00+10:00","kind":"reading","values":{"kbdi":{"value":120,"unit":"mm"}},"by":"x"})");
    });
  };
  const std::string at_once = with_reading_after(4).back();
  EXPECT_TRUE(with_reading_after(9).back() == at_once);
  EXPECT_FALSE(with_reading_after(-1).back() == at_once) << "it counts";
}

}  // namespace
}  // namespace hakea::test
