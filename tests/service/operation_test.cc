// The service as whoever runs the machine meets it: reloading, the admin listener, the service manager, and that no secret is
// written down anywhere.
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>

#include <filesystem>
#include <sstream>
#include <thread>

#include "service/input/json.h"
#include "tests/service/program.h"
#include "tests/support/daemon.h"
#include "tests/support/file_bytes.h"

namespace hakea::service {
namespace {

class Operation : public Program {
 protected:
  // Any free port for health and metrics: several of these run at once.
  std::string config(const std::string& more = "", const std::string& service = "") {
    return write("service.toml", "[service]\ndata = \"data\"\nport = 0\nadmin_port = 0\n" + service + more);
  }
  std::string token(const std::string& words) {
    const Outcome made = run("token create " + words + " --config " + config());
    EXPECT_EQ(made.code, 0) << made.err;
    return made.out.substr(0, made.out.find('\n'));
  }
  static std::string bearer(const std::string& token) { return "Authorization: Bearer " + token + "\r\n"; }
  static bool says_after_hup(test::Daemon& service, const std::string& words, std::size_t times = 1) {
    kill(service.process(), SIGHUP);
    return service.has_said(words, times);
  }
  static constexpr const char* kTaken = "was read again and is in force";
  static constexpr const char* kRefused = "the configuration in force stays";
};

TEST_F(Operation, HealthAndMetricsStandAtAListenerOfTheirOwn) {
  test::Daemon service(HAKEA_PROGRAM, {"serve", "--config", config()});
  EXPECT_EQ(service.get("/status").status, 401);
  EXPECT_EQ(service.ask_admin("/livez").status, 200);
  EXPECT_EQ(service.ask_admin("/readyz").status, 200);
  const test::RawAnswer metrics = service.ask_admin("/metrics");
  EXPECT_EQ(metrics.status, 200);
  EXPECT_TRUE(metrics.has("Content-Type: text/plain; version=0.0.4")) << metrics.head;
  EXPECT_NE(metrics.body.find("hakea_http_request_seconds_count{code=\"401\",method=\"GET\",route=\"/status\"} 1"),
            std::string::npos)
      << metrics.body;
  EXPECT_EQ(service.ask_admin("/api/v1/status").status, 404) << "no way around the tokens";
  test::RawClient client(service.port());
  EXPECT_EQ(client.ask("GET /metrics HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n").status, 404) << "not where callers are";
  EXPECT_EQ(service.end(SIGTERM), 0);
}

TEST_F(Operation, ABackupShowsInTheMetrics) {
  test::Daemon service(HAKEA_PROGRAM, {"serve", "--config", config()});
  EXPECT_EQ(service.ask_admin("/metrics").body.find("hakea_backup_last_success_timestamp_seconds "), std::string::npos);
  ASSERT_EQ(run("backup '" + (folder_.path() / "b.db").string() + "' --config " + config()).code, 0);
  EXPECT_NE(service.ask_admin("/metrics").body.find("hakea_backup_last_success_timestamp_seconds "), std::string::npos);
}

TEST_F(Operation, AChangedConfigurationIsTakenWholeWhileCallersAreServed) {
  const std::string reader = token("--name a --role operator");
  test::Daemon service(HAKEA_PROGRAM, {"serve", "--config", config()});
  EXPECT_EQ(service.get("/units").status, 401);
  EXPECT_EQ(service.get("/feeds", bearer(reader)).body, R"({"feeds":[]})");
  std::filesystem::create_directories(folder_.path() / "fine");
  config("[auth]\nanonymous_read = true\n[feeds.fine]\npath = \"fine\"\n");
  ASSERT_TRUE(says_after_hup(service, kTaken)) << service.log();
  EXPECT_EQ(service.get("/units").status, 200) << "anonymous reading";
  EXPECT_NE(service.get("/feeds", bearer(reader)).body.find("\"fine\""), std::string::npos) << "the new feed";
  EXPECT_NE(service.get("/audit", bearer(reader)).body.find("\"reload\""), std::string::npos);
  config();
  ASSERT_TRUE(says_after_hup(service, kTaken, 2));
  EXPECT_EQ(service.get("/units").status, 401);
  EXPECT_EQ(service.end(SIGTERM), 0);
}

TEST_F(Operation, AWrongConfigurationLeavesTheOldOneInForceAndSaysWhy) {
  const std::string reader = token("--name a --role operator");
  test::Daemon service(HAKEA_PROGRAM, {"serve", "--config", config("[auth]\nanonymous_read = true\n")});
  EXPECT_EQ(service.get("/units").status, 200);
  config("[auth]\nanonymous_raed = false\n[feeds.fine]\npatern = \"*.nc\"\n");
  // The last of its mistakes.
  ASSERT_TRUE(says_after_hup(service, R"(did you mean \"pattern\"?)")) << service.log();
  EXPECT_NE(service.log().find(kRefused), std::string::npos);
  EXPECT_NE(service.log().find(R"(did you mean \"anonymous_read\"?)"), std::string::npos) << service.log();
  EXPECT_EQ(service.get("/units").status, 200) << "the old one is in force";
  config("", "address = \"127.0.0.2\"\n");
  ASSERT_TRUE(says_after_hup(service, "takes_a_restart")) << service.log();
  EXPECT_EQ(service.get("/units").status, 200) << "nothing of it was taken";
  EXPECT_NE(service.get("/audit", bearer(reader)).body.find("refuse_reload"), std::string::npos);
  EXPECT_EQ(service.end(SIGTERM), 0);
}

TEST_F(Operation, TheServiceManagerIsToldOfStartReloadAndEnd) {
  const std::string name = (folder_.path() / "notify").string();
  const int manager = socket(AF_UNIX, SOCK_DGRAM, 0);
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  ASSERT_LT(name.size(), sizeof address.sun_path);
  std::copy(name.begin(), name.end(), address.sun_path);
  ASSERT_EQ(bind(manager, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
  const timeval patience{60, 0};
  setsockopt(manager, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  std::string heard;
  std::jthread listener([&] {
    for (char bytes[512]; heard.find("STOPPING=1") == std::string::npos;) {
      const ssize_t n = recv(manager, bytes, sizeof bytes, 0);
      if (n <= 0) break;
      heard += std::string(bytes, static_cast<std::size_t>(n)) + "|";
    }
  });
  setenv("NOTIFY_SOCKET", name.c_str(), 1);
  {
    test::Daemon service(HAKEA_PROGRAM, {"serve", "--config", config()});
    unsetenv("NOTIFY_SOCKET");
    EXPECT_TRUE(says_after_hup(service, kTaken)) << service.log();
    EXPECT_EQ(service.end(SIGTERM), 0);
  }
  listener.join();
  close(manager);
  const std::size_t ready = heard.find("READY=1"), reloading = heard.find("RELOADING=1"),
                    again = heard.find("READY=1", reloading == std::string::npos ? 0 : reloading + 11),
                    stopping = heard.find("STOPPING=1");
  EXPECT_LT(ready, reloading) << heard;
  EXPECT_LT(reloading, again) << heard;
  EXPECT_LT(again, stopping) << heard;
  EXPECT_NE(stopping, std::string::npos) << heard;
}

// Everything that was written to disk or said, searched for the secrets that went through the service.
TEST_F(Operation, NoSecretIsWrittenDownAnywhere) {
  const std::string operator_token = token("--name 'who runs it' --role operator"), officer = token("--name crew --role officer");
  test::Daemon service(HAKEA_PROGRAM, {"serve", "--config", config()});
  std::vector<std::string> secrets{operator_token.substr(15), officer.substr(15)};
  std::string answers;
  const auto ask = [&](const std::string& method, const std::string& path, const std::string& body, const std::string& headers) {
    const test::RawAnswer answer = service.ask(method, path, body, headers);
    answers += answer.head + answer.body;
    return answer;
  };
  const test::RawAnswer made = service.ask("POST", "/tokens", R"({"name":"a","role":"viewer"})", bearer(operator_token));
  ASSERT_EQ(made.status, 201) << made.body;
  secrets.push_back(std::string(parse_json(made.body, "token")->at("token").as_string()).substr(15));
  const test::RawAnswer signed_in =
      service.ask("POST", "/session", R"({"token":")" + officer + "\"}", "Origin: http://127.0.0.1\r\n");
  ASSERT_EQ(signed_in.status, 201) << signed_in.head << signed_in.body;
  const std::size_t at = signed_in.head.find("__Host-session=") + 15;
  const std::string cookie = signed_in.head.substr(at, 43);
  secrets.push_back(cookie);

  // Rightly and wrongly, everywhere a caller can put them.
  ask("GET", "/units", "", bearer(officer));
  ask("GET", "/session", "", "Cookie: __Host-session=" + cookie + "\r\n");
  ask("DELETE", "/session", "", "Cookie: __Host-session=" + cookie + "\r\n");
  for (const std::string& token : {officer, operator_token}) {
    std::string wrong = token;
    wrong.back() = wrong.back() == 'A' ? 'E' : 'A';
    ask("GET", "/units", "", bearer(wrong));
    ask("GET", "/" + token, "", bearer(officer));
    ask("POST", "/" + token, "{}", bearer(officer));
    ask("GET", "/units/" + token, "", bearer(officer));
    ask("GET", "/units?access_token=" + token, "", bearer(officer));
    ask("GET", "/status", "", bearer(officer) + "X-Request-Id: " + token + "\r\n");
    ask("POST", "/stops", R"({"kind":")" + token + "\"}", bearer(officer) + "X-Request-Id: " + token + "\r\n");
    ask("POST", "/session", R"({"token":")" + token + R"(","x":1})", "Origin: http://127.0.0.1\r\n");
    ask("GET", "/units", "", "Authorization: Basic " + token + "\r\n");
    ask("PATCH", "/tokens", "{}", bearer(token));
    ask(token, "/units", "", bearer(token));
  }
  answers += service.ask_admin("/metrics").body;
  EXPECT_EQ(service.end(SIGTERM), 0);

  std::string disk;
  for (const auto& file : std::filesystem::recursive_directory_iterator(folder_.path() / "data"))
    if (file.is_regular_file()) disk += test::file_bytes(file.path());
  EXPECT_NE(disk.find("who runs it"), std::string::npos) << "the database was read";
  EXPECT_NE(service.log().find("\"request_id\""), std::string::npos);
  for (const std::string& secret : secrets) {
    // A part of it would be most of the way, too.
    const std::string part = secret.substr(0, 20);
    EXPECT_EQ(disk.find(part), std::string::npos);
    EXPECT_EQ(service.log().find(part), std::string::npos) << service.log();
    EXPECT_EQ(answers.find(part), std::string::npos) << answers;
  }
}

TEST_F(Operation, LogLinesOfRequestsSayWhichRouteWhoAndHowItEnded) {
  const std::string officer = token("--name crew --role officer");
  test::Daemon service(HAKEA_PROGRAM, {"serve", "--config", config()});
  service.ask("POST", "/stops", "{}", bearer(officer) + "X-Request-Id: morning-7\r\n");
  EXPECT_EQ(service.end(SIGTERM), 0);
  std::istringstream lines(service.log());
  bool is_found = false;
  for (std::string line; std::getline(lines, line);) {
    const auto parsed = parse_json(line, "log");
    ASSERT_TRUE(parsed) << line;
    if (text_member(*parsed, "request_id") != "morning-7") continue;
    is_found = true;
    EXPECT_EQ(text_member(*parsed, "route"), "/stops");
    EXPECT_EQ(text_member(*parsed, "actor"), "crew");
    EXPECT_EQ(parsed->at("status").as_int64(), 422);
    EXPECT_TRUE(parsed->at("ms").is_int64());
  }
  EXPECT_TRUE(is_found) << service.log();
}

}  // namespace
}  // namespace hakea::service
