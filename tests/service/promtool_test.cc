// What /metrics says, judged by Prometheus's own tool.
#include <gtest/gtest.h>

#include "tests/service/program.h"
#include "tests/support/daemon.h"

namespace hakea::service {
namespace {

class Promtool : public Program {};

TEST_F(Promtool, FindsNothingToCorrectInTheMetrics) {
  if (std::system("command -v promtool >/dev/null 2>&1") != 0) GTEST_SKIP() << "no promtool here";
  const std::string config = write("service.toml", "[service]\ndata = \"data\"\nport = 0\nadmin_port = 0\n");
  test::Daemon service(HAKEA_PROGRAM, {"serve", "--config", config});
  service.get("/units");
  const test::RawAnswer answer = service.ask_admin("/metrics");
  ASSERT_EQ(answer.status, 200);
  const std::string metrics = write("metrics.txt", answer.body), said = (folder_.path() / "said").string();
  EXPECT_EQ(std::system(("promtool check metrics <'" + metrics + "' >'" + said + "' 2>&1").c_str()), 0);
  EXPECT_EQ(*read_text_file(said), "");
}

}  // namespace
}  // namespace hakea::service
