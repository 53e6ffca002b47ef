// Tokens, backup and restore, and how the service is started, as an operator calls them.
#include <gtest/gtest.h>

#include <sstream>

#include "tests/service/program.h"
#include "tests/support/daemon.h"

namespace hakea::service {
namespace {

class LookingAfter : public Program {
 protected:
  std::string config() { return write("service.toml", "[service]\ndata = \"data\"\nport = 0\nadmin_port = 0\n"); }
  Outcome token(const std::string& words) { return run("token " + words + " --config " + config()); }
};

TEST_F(LookingAfter, ATokenIsShownOnceAndListedWithoutItsSecret) {
  EXPECT_EQ(token("list").out, "no token\n");
  const Outcome made = token("create --name 'Quarry Flat office' --role officer --district tallowmere --days 30");
  ASSERT_EQ(made.code, 0) << made.err;
  EXPECT_TRUE(made.out.starts_with("hakea_")) << made.out;
  EXPECT_EQ(lines(made.out), 1U);
  const std::string secret = made.out.substr(made.out.rfind('_') + 1, 43);
  const Outcome listed = token("list");
  ASSERT_EQ(listed.code, 0) << listed.err;
  EXPECT_NE(listed.out.find("Quarry Flat office"), std::string::npos) << listed.out;
  EXPECT_NE(listed.out.find("officer"), std::string::npos) << listed.out;
  EXPECT_NE(listed.out.find("never used"), std::string::npos) << listed.out;
  EXPECT_EQ(listed.out.find(secret), std::string::npos);
  const std::string id = made.out.substr(6, 8);
  EXPECT_EQ(token("revoke --id " + id).code, 0);
  EXPECT_NE(token("list").out.find("revoked"), std::string::npos);
  EXPECT_EQ(token("revoke --id nobody00").code, 1);
}

TEST_F(LookingAfter, WrongCallsOfTokenAreNamed) {
  EXPECT_EQ(token("").code, 2);
  const Outcome verb = token("craete --name a");
  EXPECT_EQ(verb.code, 2);
  EXPECT_NE(verb.err.find("did you mean create?"), std::string::npos) << verb.err;
  EXPECT_EQ(token("create").code, 2);
  EXPECT_EQ(token("create --name a --role king").code, 2);
  EXPECT_EQ(token("create --name a --days 0").code, 2);
  EXPECT_EQ(token("create --name a --days 9999").code, 2);
  EXPECT_EQ(token("revoke").code, 2);
  EXPECT_EQ(run("token list").code, 2) << "needs a configuration";
}

TEST_F(LookingAfter, ABackupBringsBackWhatStoodInIt) {
  ASSERT_EQ(token("create --name before").code, 0);
  const std::string backup = (folder_.path() / "backup.db").string();
  const Outcome made = run("backup '" + backup + "' --config " + config());
  ASSERT_EQ(made.code, 0) << made.err;
  EXPECT_EQ(run("backup '" + backup + "' --config " + config()).code, 1) << "nothing is written over";
  ASSERT_EQ(token("create --name after").code, 0);
  const Outcome restored = run("restore '" + backup + "' --config " + config());
  ASSERT_EQ(restored.code, 0) << restored.err;
  const std::string listed = token("list").out;
  EXPECT_NE(listed.find("before"), std::string::npos) << listed;
  EXPECT_EQ(listed.find("after"), std::string::npos) << listed;
}

TEST_F(LookingAfter, AForeignFileIsNotRestored) {
  ASSERT_EQ(token("create --name before").code, 0);
  const Outcome refused = run("restore " + write("foreign.db", "no database at all") + " --config " + config());
  EXPECT_EQ(refused.code, 1);
  EXPECT_NE(refused.err.find("damaged_database"), std::string::npos) << refused.err;
  EXPECT_NE(token("list").out.find("before"), std::string::npos);
}

TEST_F(LookingAfter, WrongCallsOfTheServiceAreNamed) {
  EXPECT_EQ(run("serve").code, 2);
  EXPECT_EQ(run("serve --config " + config() + " --now yesterday").code, 2);
  EXPECT_EQ(run("serve --config " + write("wrong.toml", "[service]\nprot = 1\n")).code, 2);
  EXPECT_EQ(run("demo --port 99999").code, 2);
  EXPECT_EQ(run("demo --port http").code, 2);
}

TEST_F(LookingAfter, TheServiceTellsItsTimeByTokenLogsJsonAndEndsWhenTold) {
  test::Daemon service(HAKEA_PROGRAM, {"serve", "--config", config(), "--now", "2024-04-02T10:00:00+11:00"});
  EXPECT_EQ(service.get("/status").status, 401) << "a token is asked for";
  // Made while the service runs.
  const Outcome made = token("create --name operator --role coordinator");
  ASSERT_EQ(made.code, 0) << made.err;
  const std::string bearer = "Authorization: Bearer " + made.out.substr(0, made.out.size() - 1) + "\r\n";
  const test::RawAnswer status = service.get("/status", bearer);
  ASSERT_EQ(status.status, 200) << status.body;
  EXPECT_NE(status.body.find("2024-04-01T23:0"), std::string::npos) << status.body;
  EXPECT_EQ(service.ask("POST", "/demo/clock", R"({"to":"2024-04-03T10:00:00+11:00"})", bearer).status, 404) << "not the demo";
  ASSERT_EQ(token("revoke --id " + made.out.substr(6, 8)).code, 0);
  EXPECT_EQ(service.get("/status", bearer).status, 401);

  EXPECT_EQ(run("backup '" + (folder_.path() / "b.db").string() + "' --config " + config()).code, 0) << "beside the service";
  EXPECT_EQ(run("restore '" + (folder_.path() / "b.db").string() + "' --config " + config()).code, 1) << "not beside it";
  EXPECT_EQ(service.end(SIGTERM), 0);
  const std::string log = service.log();
  EXPECT_NE(log.find("No token exists"), std::string::npos) << log;
  EXPECT_EQ(log.find(made.out.substr(15, 43)), std::string::npos) << "a secret is never logged";
  std::istringstream lines(log);
  for (std::string line; std::getline(lines, line);) {
    const auto parsed = parse_json(line, "log");
    ASSERT_TRUE(parsed) << line;
    EXPECT_TRUE(parse_instant(std::string(parsed->at("time").as_string()))) << line;
    EXPECT_FALSE(parsed->at("level").as_string().empty());
  }
}

TEST_F(LookingAfter, CheckSaysWhereTheServiceListensAndKeepsItsData) {
  const Outcome o = run("check --config " + config());
  EXPECT_EQ(o.code, 0) << o.err;
  EXPECT_NE(o.out.find("listens on 127.0.0.1 port 0"), std::string::npos) << o.out;
  EXPECT_NE(o.out.find((folder_.path() / "data").string()), std::string::npos) << o.out;
}

}  // namespace
}  // namespace hakea::service
