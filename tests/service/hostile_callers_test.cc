// Callers who mean no good, or have a very bad line: each gets a clear answer or a closed connection, others are served
// meanwhile, and what the service holds for them stays bounded. The long variant takes as many connections as descriptors
// allow, by the default limits.
#include <gtest/gtest.h>
#include <sys/resource.h>

#include <fstream>
#include <memory>
#include <random>
#include <thread>

#include "service/http/server.h"
#include "service/input/json.h"
#include "tests/support/raw_client.h"

#ifndef HAKEA_CONNECTIONS
#define HAKEA_CONNECTIONS 300
#endif

namespace hakea::test {
namespace {

using namespace hakea::service;

constexpr int kConnections = HAKEA_CONNECTIONS;
const std::string kGet = "GET /a HTTP/1.1\r\nHost: h\r\n\r\n";

// Reads a body as handlers do.
Response parsed(const Request& request) {
  if (request.body.empty()) return {200, "text/plain", "good", {}};
  return parse_json(request.body, "body") ? Response{200, "text/plain", "read", {}} : Response{400, "text/plain", "no JSON", {}};
}

std::unique_ptr<Server> listener(ServerSettings settings) {
  settings.port = 0;
  auto started = Server::start(settings, {parsed});
  if (!started) throw std::runtime_error(started.error().what);
  return *std::move(started);
}

bool is_served(const Server& server) { return RawClient(server.port()).ask(kGet).body == "good"; }

// How much more memory than the service holds there may be: the sanitizer keeps what was freed for a while, of all tests.
#ifdef __SANITIZE_ADDRESS__
constexpr std::size_t kTimesHeld = 4;
#else
constexpr std::size_t kTimesHeld = 1;
#endif

// Resident memory of this process, which is also the server's.
std::size_t resident_kb() {
  std::ifstream status("/proc/self/status");
  for (std::string line; std::getline(status, line);)
    if (line.starts_with("VmRSS:")) return std::stoul(line.substr(6));
  return 0;
}

// Room for both ends of so many connections, all of them being in this process; so many as there is room for.
int connections_possible(int wanted) {
  rlimit limit{};
  getrlimit(RLIMIT_NOFILE, &limit);
  limit.rlim_cur = std::min<rlim_t>(limit.rlim_max, static_cast<rlim_t>(2 * wanted + 600));
  setrlimit(RLIMIT_NOFILE, &limit);
  return std::min(wanted, static_cast<int>((limit.rlim_cur - 500) / 2));
}

std::vector<std::unique_ptr<RawClient>> connected(const Server& server, int count) {
  std::vector<std::unique_ptr<RawClient>> clients;
  for (int i = 0; i < count; ++i) clients.push_back(std::make_unique<RawClient>(server.port()));
  return clients;
}

TEST(HostileCallers, HalfARequestIsToldThatItTookTooLong) {
  const auto server = listener({.seconds_for_request = 1});
  for (const char* half :
       {"GET /a HTT", "GET /a HTTP/1.1\r\nHost: h\r\n", "POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: 10\r\n\r\nabc"}) {
    RawClient client(server->port());
    client.send(half);
    EXPECT_TRUE(is_served(*server));
    const RawAnswer answer = client.answer();
    EXPECT_EQ(answer.status, 408) << half;
    EXPECT_TRUE(client.is_closed());
  }
}

TEST(HostileCallers, AByteAtATimeDoesNotBuyMoreTime) {
  const auto server = listener({.header_bytes = 64 * 1024 * 1024, .seconds_for_request = 1});
  RawClient client(server->port());
  std::jthread drip([&](std::stop_token stop) {
    client.send("GET /a HTTP/1.1\r\nHost: h\r\nX-Kind: ");
    while (!stop.stop_requested() && client.send("x")) {
    }
  });
  EXPECT_TRUE(is_served(*server));
  EXPECT_EQ(client.answer().status, 408);
}

TEST(HostileCallers, AConnectionThatSaysNothingIsClosed) {
  const auto server = listener({.seconds_idle = 1});
  RawClient client(server->port());
  EXPECT_TRUE(client.is_closed());
}

TEST(HostileCallers, AnEnormousHeaderIsRefusedBeforeItHasCome) {
  const auto server = listener({});
  RawClient client(server->port());
  client.send("GET /a HTTP/1.1\r\nHost: h\r\nX-Kind: " + std::string(1024 * 1024, 'x'));
  EXPECT_EQ(client.answer().status, 431);
  RawClient many(server->port());
  std::string lines;
  for (int i = 0; i < 5000; ++i) lines += "X-" + std::to_string(i) + ": y\r\n";
  many.send("GET /a HTTP/1.1\r\nHost: h\r\n" + lines + "\r\n");
  EXPECT_EQ(many.answer().status, 431);
  EXPECT_TRUE(is_served(*server));
}

TEST(HostileCallers, DeepJsonIsRefused) {
  const auto server = listener({});
  for (const std::string& open : {std::string("["), std::string("{\"a\":")}) {
    std::string body;
    for (int i = 0; i < 200'000; ++i) body += open;
    RawClient client(server->port());
    const RawAnswer answer =
        client.ask("POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: " + std::to_string(body.size()) + "\r\n\r\n" + body);
    EXPECT_EQ(answer.status, 400);
    EXPECT_EQ(answer.body, "no JSON");
  }
}

TEST(HostileCallers, GarbageIsAnsweredOrClosed) {
  const auto server = listener({.seconds_for_request = 1});
  std::mt19937 chance(7);
  for (int round = 0; round < kConnections / 3; ++round) {
    std::string bytes(1 + chance() % 3000, '\0');
    for (char& c : bytes) c = static_cast<char>(chance());
    if (round % 3 == 1) bytes = "GET /" + bytes;
    if (round % 3 == 2) bytes = "POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: " + bytes;
    RawClient client(server->port());
    client.send(bytes + "\r\n\r\n");
    const int status = client.answer().status;
    EXPECT_TRUE(status == 0 || status == 400 || status == 413 || status == 431 || status == 501) << status;
  }
  EXPECT_TRUE(is_served(*server));
}

TEST(HostileCallers, ManyConnectionsAreHeldAndOthersServed) {
  const int count = connections_possible(kConnections);
  ASSERT_GE(count, std::min(kConnections, 2000)) << "this machine allows too few descriptors";
  const auto server = listener({.seconds_for_request = 600, .seconds_idle = 600, .connections_per_address = 100'000});
  const std::size_t before = resident_kb();
  {
    auto clients = connected(*server, count);
    for (std::size_t i = 0; i < clients.size(); ++i)  // some say nothing, others half of something
      if (i % 2 == 0) clients[i]->send("GET /a HTTP/1.1\r\nX-Kind: " + std::string(8000, 'x'));
    EXPECT_TRUE(is_served(*server));
    for (std::size_t i = 1; i < clients.size(); i += 2) ASSERT_EQ(clients[i]->ask(kGet).body, "good") << i;
    const std::size_t held = resident_kb() - std::min(before, resident_kb());
    EXPECT_LT(held, static_cast<std::size_t>(count) * 64 * kTimesHeld) << "kB for " << count << " connections and their clients";
  }
  EXPECT_TRUE(is_served(*server));
}

TEST(HostileCallers, WhoTakesNoAnswerIsLetGoAndCostsOthersNothing) {
  constexpr std::size_t kLarge = 64 * 1024 * 1024;  // more than the system keeps for a caller
  const auto kept = std::make_shared<const std::string>(kLarge, 'x');
  ServerSettings settings{.port = 0, .seconds_idle = 1, .connections = 4, .connections_per_address = 100};
  auto started = Server::start(settings, {[&](const Request& request) {
                                 Response answer{200, "text/plain", "good", {}};
                                 if (request.path == "/large") answer.kept = kept;
                                 return answer;
                               }});
  ASSERT_TRUE(started);
  const Server& server = **started;
  const std::size_t before = resident_kb();
  auto clients = connected(server, 3);
  for (const auto& client : clients) client->send("GET /large HTTP/1.1\r\nHost: h\r\n\r\n");
  EXPECT_TRUE(is_served(server));
  EXPECT_LT(resident_kb() - std::min(before, resident_kb()), kLarge / 1024) << "it is sent from where it is";
  // Their places come free without their doing anything.
  std::vector<std::unique_ptr<RawClient>> others;
  for (int attempt = 0; attempt < 3000 && others.size() < 4; ++attempt) {
    auto other = std::make_unique<RawClient>(server.port());
    if (other->ask(kGet).body == "good")
      others.push_back(std::move(other));
    else
      std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
  EXPECT_EQ(others.size(), 4U);
  for (const auto& client : clients) EXPECT_EQ(client->answer().status, 0) << "cut off";
}

TEST(HostileCallers, ConnectionsBeyondTheLimitAreTurnedAwayWithoutHarmToThoseThatAreThere) {
  const int count = connections_possible(kConnections) / 2;
  const auto server = listener({.connections = count, .connections_per_address = 100'000});
  auto clients = connected(*server, count);
  for (const auto& client : clients) ASSERT_EQ(client->ask(kGet).body, "good");
  for (int i = 0; i < count; ++i) {
    RawClient more(server->port());
    const int status = more.answer().status;
    ASSERT_TRUE(status == 503 || status == 0) << status;
  }
  for (const auto& client : clients) ASSERT_EQ(client->ask(kGet).body, "good");
}

TEST(HostileCallers, LargeBodiesThatNeverEndLeaveRoomForOthers) {
  constexpr std::size_t kBody = 1024 * 1024;
  const auto server = listener({.body_bytes_together = 8 * kBody, .connections_per_address = 100'000});
  const std::string head = "POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: " + std::to_string(kBody) + "\r\n\r\n";
  const std::size_t before = resident_kb();
  auto clients = connected(*server, 40);
  int refused = 0;
  for (std::size_t i = 0; i < clients.size(); ++i) {
    clients[i]->send(head + std::string(1000, ' '));
    if (i >= 8) refused += clients[i]->answer().status == 503;
  }
  EXPECT_EQ(refused, 32);
  EXPECT_LT(resident_kb() - std::min(before, resident_kb()), 16 * kBody / 1024 * kTimesHeld);
  RawClient small(server->port());
  EXPECT_EQ(small.ask("POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: 2\r\n\r\n{}").body, "read");
  clients.clear();
  std::string body(kBody, ' ');
  body.replace(0, 2, "{}");
  int status = 0;  // the server may still meet the first of those that went
  for (int attempt = 0; attempt < 1000 && status != 200; ++attempt) status = RawClient(server->port()).ask(head + body).status;
  EXPECT_EQ(status, 200);
}

}  // namespace
}  // namespace hakea::test
