// Health, readiness and metrics, without a socket.
#include "service/app/admin.h"

#include <gtest/gtest.h>

#include <atomic>
#include <filesystem>
#include <regex>
#include <set>
#include <sstream>
#include <thread>

#include "service/app/gate.h"
#include "service/app/liveness.h"
#include "service/app/metrics.h"
#include "tests/support/api_rig.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

TEST(Watchdog, IsFedWhileBothHeartsBeat) {
  Liveness liveness;
  std::uint64_t beat = 0;
  for (int i = 0; i < 100; ++i) {
    ++beat;
    EXPECT_TRUE(liveness.tick(beat, beat));
  }
}

TEST(Watchdog, IsNotFedWhenInputAndOutputStandStill) {
  Liveness liveness;
  std::uint64_t engine = 0;
  EXPECT_TRUE(liveness.tick(7, ++engine));
  EXPECT_TRUE(liveness.tick(7, ++engine)) << "one tick may fall between two beats";
  EXPECT_TRUE(liveness.tick(7, ++engine));
  EXPECT_FALSE(liveness.tick(7, ++engine));
  EXPECT_FALSE(liveness.is_alive());
  EXPECT_TRUE(liveness.tick(8, ++engine)) << "it came back";
}

TEST(Watchdog, IsNotFedWhenTheEngineIsStuckForAQuarterOfAnHour) {
  Liveness liveness;
  std::uint64_t io = 0;
  EXPECT_TRUE(liveness.tick(++io, 3));
  for (int s = kTickSeconds; s < 15 * 60; s += kTickSeconds) EXPECT_TRUE(liveness.tick(++io, 3)) << s;
  EXPECT_FALSE(liveness.tick(++io, 3));
}

TEST(Gates, CloseWhenEverybodyIsOutAndLetNobodyIn) {
  Gate gate;
  std::atomic<int> inside = 0, most_while_closed = 0;
  std::atomic<bool> is_done = false;
  std::vector<std::thread> callers;
  for (int i = 0; i < 4; ++i)
    callers.emplace_back([&] {
      while (!is_done) {
        const Gate::Pass pass(gate);
        ++inside;
        std::this_thread::yield();
        --inside;
      }
    });
  for (int i = 0; i < 200; ++i) {
    const Gate::Closed closed(gate);
    most_while_closed = std::max(most_while_closed.load(), inside.load());
    std::this_thread::yield();
    most_while_closed = std::max(most_while_closed.load(), inside.load());
  }
  is_done = true;
  for (std::thread& caller : callers) caller.join();
  EXPECT_EQ(most_while_closed, 0);
}

TEST(Gates, AreNotWaitedForByWhoOnlyTries) {
  Gate gate;
  {
    const Gate::Closed closed(gate);
    const Gate::Pass tried(gate, std::try_to_lock);
    EXPECT_FALSE(tried.is_through());
  }
  {
    const Gate::Pass tried(gate, std::try_to_lock);
    EXPECT_TRUE(tried.is_through());
  }
  const Gate::Closed closed(gate);  // would wait for ever for somebody who is counted wrongly
}

// An engine that shows what it is told to.
class ShownEngine final : public Engine {
 public:
  std::shared_ptr<const Snapshot> snapshot() const override { return picture; }
  Result<bool> judge_again(const std::set<std::string>&) override { return true; }
  Result<bool> catch_up() override { return true; }
  std::vector<std::string> troubles() const override { return {}; }
  std::optional<Progress> progress() const override { return doing; }
  std::uint64_t heartbeat() const override { return beat; }
  std::shared_ptr<Snapshot> picture = std::make_shared<Snapshot>();
  std::optional<Progress> doing;
  std::uint64_t beat = 0;
};

TEST(Readiness, IsHavingARunLoadingOneOrKnowingThatThereIsNone) {
  ShownEngine engine;
  FeedView feed;
  feed.id = "fine";
  engine.picture->feeds.push_back(feed);
  EXPECT_EQ(readiness_of(engine, true).first_run, "not looked for yet");
  EXPECT_FALSE(readiness_of(engine, true).is_ready());
  engine.doing = Progress{"fine.2027-03-29T12:00:00Z", {}, "reading", 0.1};
  EXPECT_EQ(readiness_of(engine, true).first_run, "loading");
  EXPECT_TRUE(readiness_of(engine, true).is_ready());
  engine.doing.reset();
  engine.beat = 1;
  EXPECT_EQ(readiness_of(engine, true).first_run, "nothing to load");
  EXPECT_TRUE(readiness_of(engine, true).is_ready());
  engine.beat = 0;
  engine.picture->feeds[0].newest_complete = RunNote{};
  EXPECT_EQ(readiness_of(engine, true).first_run, "loaded");
  EXPECT_FALSE(readiness_of(engine, false).is_ready()) << "the database takes no write";
}

TEST(Readiness, IsNotLostByALateFeed) {
  ShownEngine engine;
  FeedView feed;
  feed.freshness = Freshness::stale;
  feed.newest_complete = RunNote{};
  engine.picture->feeds.push_back(feed);
  EXPECT_TRUE(readiness_of(engine, true).is_ready());
}

TEST(Admin, AnswersItsThreePathsOnly) {
  bool is_alive = true;
  Readiness readiness{true, "loaded"};
  const AdminParts parts{[&] { return is_alive; }, [&] { return readiness; }, [] { return std::string("hakea_ready 1\n"); }};
  const auto ask = [&](const std::string& path, const std::string& method = "GET") {
    Request request;
    request.method = method;
    request.path = path;
    return respond_as_admin(parts, request);
  };
  EXPECT_EQ(ask("/livez").status, 200);
  EXPECT_EQ(ask("/readyz").status, 200);
  EXPECT_EQ(ask("/readyz").body, R"({"ready":true,"checks":{"schema":"migrated","database":"writable","first_run":"loaded"}})");
  EXPECT_EQ(ask("/metrics").body, "hakea_ready 1\n");
  EXPECT_TRUE(ask("/metrics").content_type.starts_with("text/plain; version=0.0.4"));
  is_alive = false;
  readiness.is_writable = false;
  EXPECT_EQ(ask("/livez").status, 503);
  EXPECT_EQ(ask("/readyz").status, 503);
  for (const char* path : {"/", "/api/v1/units", "/metrics/x"}) EXPECT_EQ(ask(path).status, 404) << path;
  EXPECT_EQ(ask("/metrics", "POST").status, 405);
}

class MetricsOfTheDemo : public ApiTest {
 protected:
  std::string text() { return metrics.text({.picture = rig->picture(), .now = rig->clock.now(), .data = ".", .is_ready = true}); }
  Metrics metrics;
};

TEST_F(MetricsOfTheDemo, HaveTheNamesOfTheInterfaceAndNoUnit) {
  metrics.answered("/units/{id}/days", "GET", 200, 0.003);
  metrics.answered("", "hakea_aaaaaaaa_" + std::string(43, 'x'), 404, 0.001);
  metrics.sent("webhook", false);
  const UtcTime now = rig->clock.now();
  const std::string said = metrics.text({.picture = rig->picture(),
                                         .now = now,
                                         .data = ".",
                                         .is_ready = true,
                                         .streams = 3,
                                         .outbox = {.waiting = 2, .oldest = now - std::chrono::minutes(2)}});
  for (const char* line :
       {"hakea_feed_cycle_age_seconds{feed=\"fine\"} ", "hakea_window_state{state=\"met\"} ",
        "hakea_window_state{state=\"blocked\"} ", "hakea_sqlite_wal_bytes ", "hakea_build_info{version=\"",
        "hakea_cycle_processing_seconds_count ", "hakea_ready 1", "hakea_sse_clients 3", "hakea_outbox_pending 2",
        "hakea_outbox_oldest_seconds 120", "hakea_deliveries_total{channel=\"webhook\",result=\"failed\"} 1",
        "# TYPE hakea_http_request_seconds histogram",
        "hakea_http_request_seconds_count{code=\"404\",method=\"other\",route=\"unknown\"} 1"})
    EXPECT_NE(said.find(line), std::string::npos) << line << " in\n" << said;
  std::set<std::string> labels;
  const std::regex label(R"re([{,]([a-z_]+)=")re");
  for (std::sregex_iterator it(said.begin(), said.end(), label), end; it != end; ++it) labels.insert((*it)[1]);
  const std::set<std::string> known{"channel",   "code",   "feed",  "le",    "method",
                                    "parameter", "result", "route", "state", "version"};
  for (const std::string& each : labels) EXPECT_TRUE(known.contains(each)) << each;
  for (const auto& [id, view] : rig->picture()->units) EXPECT_EQ(said.find(id), std::string::npos) << id;
}

// A rule over a metric that nobody writes is never true.
TEST_F(MetricsOfTheDemo, AreThoseThatTheRulesForAlertsAskFor) {
  metrics.answered("/days", "GET", 200, 0.003);
  metrics.sent("email", false);
  const std::string said = metrics.text(
      {.picture = rig->picture(), .now = rig->clock.now(), .data = ".", .last_backup = rig->clock.now(), .is_ready = true});
  const std::string rules = file_bytes(std::filesystem::path(tests_folder()).parent_path() / "deploy/alerts.yml");
  const std::regex metric(R"(\bhakea_[a-z_]+)");
  std::set<std::string> asked;
  for (std::sregex_iterator it(rules.begin(), rules.end(), metric), end; it != end; ++it) asked.insert(it->str());
  EXPECT_GT(asked.size(), 5U);
  for (const std::string& name : asked)
    EXPECT_TRUE(said.find("\n" + name + "{") != std::string::npos || said.find("\n" + name + " ") != std::string::npos) << name;
}

TEST_F(MetricsOfTheDemo, CountTheDaysOfAllUnits) {
  int met = 0;
  for (const auto& [id, view] : rig->picture()->units)
    for (const core::Day& day : view->days) met += day.verdict == core::Verdict::met;
  ASSERT_GT(met, 0);
  EXPECT_NE(text().find("hakea_window_state{state=\"met\"} " + std::to_string(met) + "\n"), std::string::npos);
}

TEST_F(MetricsOfTheDemo, CountARunOnceAndNotThoseThatWereThereAtTheStart) {
  Snapshot picture;
  FeedView feed;
  feed.id = "fine";
  RunRow run;
  run.id = "fine.2027-03-29T12:00:00Z";
  run.is_published = true;
  run.details =
      R"({"quality":[{"quantity":"wind_speed","values":90,"missing":4,"implausible":0}],"timings":{"read_s":1.5,"judge_s":0.5}})";
  feed.runs = {run};
  picture.feeds = {feed};
  const auto text_without_looking = [&] { return metrics.text({.picture = nullptr, .data = "."}); };
  metrics.see(picture);
  EXPECT_NE(text_without_looking().find("hakea_cycle_processing_seconds_count 0"), std::string::npos);
  picture.feeds[0].runs[0].revision = 2;
  metrics.see(picture);
  metrics.see(picture);
  const std::string said = text_without_looking();
  EXPECT_NE(said.find("hakea_cycle_processing_seconds_count 1"), std::string::npos) << said;
  EXPECT_NE(said.find("hakea_cycle_processing_seconds_sum 2\n"), std::string::npos) << said;
  EXPECT_NE(said.find("hakea_cycle_missing_values_total{feed=\"fine\",parameter=\"wind_speed\"} 4"), std::string::npos) << said;
  // An older picture, by a slower caller, neither counts nor makes forget.
  Snapshot newer = picture, older;
  newer.number = 7;
  newer.feeds[0].runs[0].revision = 3;
  metrics.see(newer);
  older.number = 6;
  metrics.see(older);
  metrics.see(newer);
  EXPECT_NE(text_without_looking().find("hakea_cycle_processing_seconds_count 2"), std::string::npos);
}

}  // namespace
}  // namespace hakea::test
