// What /metrics says, judged by Prometheus's own tool.
#include <gtest/gtest.h>

#include <filesystem>

#include "service/app/metrics.h"
#include "tests/service/program.h"
#include "tests/support/case_file.h"
#include "tests/support/daemon.h"

namespace hakea::service {
namespace {

class Promtool : public Program {
 protected:
  static bool is_here() { return std::system("command -v promtool >/dev/null 2>&1") == 0; }
  // What it finds, and that it failed where it did.
  std::string said_of(const std::string& text) {
    const std::string metrics = write("metrics.txt", text), said = (folder_.path() / "said").string();
    const int failed = std::system(("promtool check metrics <'" + metrics + "' >'" + said + "' 2>&1").c_str());
    return *read_text_file(said) + (failed == 0 ? "" : "(failed)");
  }
};

TEST_F(Promtool, FindsNothingToCorrectInWhatARunningServiceSays) {
  if (!is_here()) GTEST_SKIP() << "no promtool here";
  const std::string config = write("service.toml", "[service]\ndata = \"data\"\nport = 0\nadmin_port = 0\n");
  test::Daemon service(HAKEA_PROGRAM, {"serve", "--config", config});
  service.get("/units");
  const test::RawAnswer answer = service.ask_admin("/metrics");
  ASSERT_EQ(answer.status, 200);
  EXPECT_EQ(said_of(answer.body), "");
}

TEST_F(Promtool, FindsNothingToCorrectWhereEverythingIsMeasured) {
  if (!is_here()) GTEST_SKIP() << "no promtool here";
  Metrics metrics;
  Snapshot picture;
  FeedView feed;
  feed.id = "fine";
  feed.newest_complete.emplace();
  metrics.see(picture);
  RunRow run;
  run.id = "fine.2027-03-29T12:00:00Z";
  run.is_published = true;
  run.details = R"({"quality":[{"quantity":"wind_speed","missing":4}],"timings":{"read_s":1.5,"judge_s":0.5}})";
  feed.runs = {run};
  picture.feeds = {feed};
  metrics.see(picture);
  metrics.answered("/units/{id}/days", "GET", 200, 0.003);
  metrics.sent("email", true);
  const std::string text = metrics.text({.picture = std::make_shared<Snapshot>(picture),
                                         .data = ".",
                                         .last_backup = UtcTime{},
                                         .outbox = {.waiting = 1, .oldest = UtcTime{}}});
  for (const char* name :
       {"hakea_feed_cycle_age_seconds{", "hakea_cycle_processing_seconds_count 1", "hakea_cycle_missing_values_total{",
        "hakea_backup_last_success_timestamp_seconds ", "hakea_deliveries_total{", "hakea_http_request_seconds_count{"})
    EXPECT_NE(text.find(name), std::string::npos) << name << " is not among\n" << text;
  EXPECT_EQ(said_of(text), "");
}

TEST_F(Promtool, TakesTheRulesForAlerts) {
  if (!is_here()) GTEST_SKIP() << "no promtool here";
  const std::string rules = (std::filesystem::path(test::tests_folder()).parent_path() / "deploy/alerts.yml").string();
  EXPECT_EQ(std::system(("promtool check rules '" + rules + "' >/dev/null 2>&1").c_str()), 0);
}

}  // namespace
}  // namespace hakea::service
