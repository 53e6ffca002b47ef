// The listener, spoken to over a socket with bytes written by hand.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <signal.h>

#include <atomic>
#include <future>
#include <map>
#include <thread>

#include "service/http/forwarded.h"
#include "service/http/kept_file.h"
#include "service/http/server.h"
#include "service/http/target.h"
#include "tests/support/raw_client.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

// Answers what it was asked, so that a test sees what arrived.
Response echo(const Request& request) {
  if (request.path == "/throw") throw std::runtime_error("a mistake of ours");
  std::string text = request.method + " " + request.path;
  for (const auto& [name, value] : request.query) text += " " + name + "=" + value;
  if (!request.body.empty()) text += " body:" + request.body;
  return {200, "text/plain", text, {{"X-Kind", std::string(request.header("x-kind"))}}};
}

class Listener {
 public:
  explicit Listener(ServerSettings settings = {}, Respond respond = echo, TakesLong takes_long = {}) {
    settings.port = 0;
    auto started = Server::start(settings, {std::move(respond), std::move(takes_long)});
    if (!started) throw std::runtime_error(started.error().what);
    server_ = *std::move(started);
  }
  int port() const { return server_->port(); }
  Server* operator->() { return server_.get(); }

 private:
  std::unique_ptr<Server> server_;
};

const std::string kGet = "GET /a?x=1 HTTP/1.1\r\nHost: h\r\n\r\n";

TEST(HttpServer, AnswersAGetAndKeepsTheConnection) {
  Listener server;
  RawClient client(server.port());
  for (int i = 0; i < 3; ++i) {
    const RawAnswer answer = client.ask(kGet);
    EXPECT_EQ(answer.status, 200);
    EXPECT_EQ(answer.body, "GET /a x=1");
    EXPECT_TRUE(answer.has("X-Request-Id: "));
    EXPECT_TRUE(answer.has("Date: "));
    EXPECT_TRUE(answer.has("X-Content-Type-Options: nosniff"));
  }
}

TEST(HttpServer, ClosesWhenAskedTo) {
  Listener server;
  RawClient client(server.port());
  const RawAnswer answer = client.ask("GET /a HTTP/1.1\r\nHost: h\r\nConnection: close\r\n\r\n");
  EXPECT_EQ(answer.status, 200);
  EXPECT_TRUE(answer.has("Connection: close"));
  EXPECT_TRUE(client.is_closed());
}

TEST(HttpServer, AnswersPipelinedRequestsInOrder) {
  Listener server;
  RawClient client(server.port());
  client.send(
      "GET /1 HTTP/1.1\r\nHost: h\r\n\r\nPOST /2 HTTP/1.1\r\nHost: h\r\nContent-Length: 2\r\n\r\nxyGET /3 HTTP/1.1\r\nHost: "
      "h\r\n\r\n");
  EXPECT_EQ(client.answer().body, "GET /1");
  EXPECT_EQ(client.answer().body, "POST /2 body:xy");
  EXPECT_EQ(client.answer().body, "GET /3");
}

TEST(HttpServer, HeadHasTheLengthAndNoBody) {
  Listener server;
  RawClient client(server.port());
  client.send("HEAD /a HTTP/1.1\r\nHost: h\r\n\r\n");
  const RawAnswer head = client.answer(false);
  EXPECT_EQ(head.status, 200);
  EXPECT_TRUE(head.has("Content-Length: 7"));
  EXPECT_EQ(client.ask(kGet).body, "GET /a x=1") << "nothing of the first answer's body may stand before the second answer";
}

TEST(HttpServer, TakesAChunkedBody) {
  Listener server;
  RawClient client(server.port());
  EXPECT_EQ(client.ask("POST /a HTTP/1.1\r\nHost: h\r\nTransfer-Encoding: chunked\r\n\r\n3\r\nabc\r\n2\r\nde\r\n0\r\n\r\n").body,
            "POST /a body:abcde");
}

TEST(HttpServer, SaysContinueBeforeABodyThatWaitsForIt) {
  Listener server;
  RawClient client(server.port());
  client.send("POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: 3\r\nExpect: 100-continue\r\n\r\n");
  EXPECT_EQ(client.answer().status, 100);
  EXPECT_EQ(client.ask("abc").body, "POST /a body:abc");
}

TEST(HttpServer, EchoesTheCallersRequestIdWhenItIsHarmless) {
  Listener server;
  RawClient client(server.port());
  EXPECT_TRUE(client.ask("GET /a HTTP/1.1\r\nHost: h\r\nX-Request-Id: mine-7\r\n\r\n").has("X-Request-Id: mine-7\r\n"));
  EXPECT_FALSE(client.ask("GET /a HTTP/1.1\r\nHost: h\r\nX-Request-Id: <b>\r\n\r\n").has("<b>"));
}

TEST(HttpServer, JoinsRepeatedHeadersAndIgnoresTheCaseOfTheirNames) {
  Listener server;
  RawClient client(server.port());
  EXPECT_TRUE(client.ask("GET /a HTTP/1.1\r\nHost: h\r\nX-KIND: a\r\nx-kind: b\r\n\r\n").has("X-Kind: a, b\r\n"));
}

TEST(HttpServer, RefusesAHeaderThatIsTooLarge) {
  Listener server({.header_bytes = 1000});
  RawClient client(server.port());
  const RawAnswer answer = client.ask("GET /a HTTP/1.1\r\nHost: h\r\nX-Kind: " + std::string(2000, 'x') + "\r\n\r\n");
  EXPECT_EQ(answer.status, 431);
  EXPECT_TRUE(answer.has("Content-Type: application/problem+json"));
  EXPECT_NE(answer.body.find("\"request_id\":\""), std::string::npos);
  EXPECT_TRUE(client.is_closed());
}

TEST(HttpServer, RefusesABodyThatIsTooLargeByItsStatedLength) {
  Listener server({.body_bytes = 100});
  RawClient client(server.port());
  const RawAnswer answer = client.ask("POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: 100000\r\n\r\n" + std::string(100000, 'x'));
  EXPECT_EQ(answer.status, 413);
  EXPECT_NE(answer.body.find("a body may have 100 bytes"), std::string::npos) << answer.body;
  EXPECT_TRUE(client.is_closed());
}

TEST(HttpServer, RefusesABodyThatGrowsTooLargeByChunks) {
  Listener server({.body_bytes = 100});
  RawClient client(server.port());
  EXPECT_EQ(client
                .ask("POST /a HTTP/1.1\r\nHost: h\r\nTransfer-Encoding: chunked\r\n\r\n200\r\n" + std::string(0x200, 'x') +
                     "\r\n0\r\n\r\n")
                .status,
            413);
}

TEST(HttpServer, TakesABodyOfJustTheLimit) {
  Listener server({.body_bytes = 100});
  RawClient client(server.port());
  EXPECT_EQ(client.ask("POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: 100\r\n\r\n" + std::string(100, 'x')).status, 200);
}

class MalformedRequest : public ::testing::TestWithParam<std::string> {};

TEST_P(MalformedRequest, IsAnsweredWith400AndHarmsNobodyElse) {
  Listener server;
  RawClient client(server.port());
  const RawAnswer answer = client.ask(GetParam());
  EXPECT_EQ(answer.status, 400) << answer.head;
  EXPECT_TRUE(answer.has("application/problem+json"));
  RawClient other(server.port());
  EXPECT_EQ(other.ask(kGet).status, 200);
}

INSTANTIATE_TEST_SUITE_P(
    HttpServer, MalformedRequest,
    ::testing::Values("nonsense\r\n\r\n", "GET\r\n\r\n", "GET /a HTTP/3.7\r\nHost: h\r\n\r\n",
                      "GET /a HTTP/1.1\r\n\r\n",                              // no host
                      "GET /a HTTP/1.1\r\nHost: h\r\nHost: i\r\n\r\n",        // two
                      "GET /a HTTP/1.1\r\nHost: h\r\nBad Header: x\r\n\r\n",  // a blank in a name
                      "GET /%zz HTTP/1.1\r\nHost: h\r\n\r\n", "GET /a%00b HTTP/1.1\r\nHost: h\r\n\r\n",
                      "GET a HTTP/1.1\r\nHost: h\r\n\r\n", "POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: two\r\n\r\n",
                      "POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: 2\r\nContent-Length: 3\r\n\r\nxyz",
                      "POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\nxy",
                      "POST /a HTTP/1.1\r\nHost: h\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n"));

TEST(HttpServer, TurnsAwayConnectionsBeyondItsNumber) {
  Listener server({.connections = 2});
  RawClient first(server.port()), second(server.port());
  EXPECT_EQ(first.ask(kGet).status, 200);
  EXPECT_EQ(second.ask(kGet).status, 200);
  RawClient third(server.port());
  const RawAnswer answer = third.answer();
  EXPECT_EQ(answer.status, 503);
  EXPECT_TRUE(answer.has("Retry-After: 5"));
  EXPECT_EQ(first.ask(kGet).status, 200);
}

TEST(HttpServer, TurnsAwayConnectionsBeyondTheNumberOfAnAddress) {
  Listener server({.connections_per_address = 1});
  RawClient first(server.port());
  EXPECT_EQ(first.ask(kGet).status, 200);
  RawClient second(server.port());
  EXPECT_EQ(second.answer().status, 503);
}

TEST(HttpServer, LetsANewConnectionInWhenAnotherHasGone) {
  Listener server({.connections = 1});
  {
    RawClient first(server.port());
    EXPECT_EQ(first.ask("GET /a HTTP/1.1\r\nHost: h\r\nConnection: close\r\n\r\n").status, 200);
    EXPECT_TRUE(first.is_closed());
  }
  // The server forgets a session just after it closed it, so the very next one may still meet the limit.
  int status = 0;
  for (int attempt = 0; attempt < 1000 && status != 200; ++attempt) {
    RawClient next(server.port());
    status = next.ask(kGet).status;
  }
  EXPECT_EQ(status, 200);
}

TEST(HttpServer, AHandlersMistakeIsAnsweredAndTheServerGoesOn) {
  Listener server;
  RawClient client(server.port());
  EXPECT_EQ(client.ask("GET /throw HTTP/1.1\r\nHost: h\r\n\r\n").status, 500);
  EXPECT_EQ(client.ask(kGet).status, 200);
}

TEST(HttpServer, SaysWhoCalls) {
  Listener server({}, [](const Request& request) {
    return Response{200, "text/plain", request.address + (request.is_loopback ? " loopback" : ""), {}};
  });
  RawClient client(server.port());
  EXPECT_EQ(client.ask(kGet).body, "127.0.0.1 loopback");
}

TEST(HttpServer, BelievesItsOwnProxiesForWhomTheyCallAndLetsThemHoldMoreConnections) {
  const auto who = [](const Request& request) { return Response{200, "text/plain", request.address, {}}; };
  const std::string forwarded = "GET /a HTTP/1.1\r\nHost: h\r\nX-Forwarded-For: 192.0.2.7\r\n\r\n";
  Listener behind({.connections_per_address = 1, .proxies = {"127.0.0.1"}}, who), open({}, who);
  RawClient first(behind.port()), second(behind.port()), anybody(open.port());
  EXPECT_EQ(first.ask(forwarded).body, "192.0.2.7");
  EXPECT_EQ(second.ask(kGet).body, "127.0.0.1");
  EXPECT_EQ(anybody.ask(forwarded).body, "127.0.0.1") << "anybody can write a header";
}

TEST(CallerAddress, IsTheLastThatIsNoProxyOfOurs) {
  const std::vector<std::string> proxies{"127.0.0.1", "10.0.0.2"};
  const auto of = [&](const std::string& peer, std::string_view forwarded) { return caller_address(proxies, peer, forwarded); };
  EXPECT_EQ(of("127.0.0.1", ""), "127.0.0.1");
  EXPECT_EQ(of("127.0.0.1", "2001:db8::7"), "2001:db8::7");
  EXPECT_EQ(of("127.0.0.1", "198.51.100.9, 192.0.2.7"), "192.0.2.7") << "what the caller wrote itself stands before";
  EXPECT_EQ(of("127.0.0.1", "198.51.100.9,192.0.2.7,10.0.0.2"), "192.0.2.7");
  EXPECT_EQ(of("127.0.0.1", "10.0.0.2"), "127.0.0.1");
  for (const char* nobody : {"unknown", "192.0.2.7, _hidden", "192.0.2.7, <b>", "192.0.2.7, 300.1.1.1"})
    EXPECT_EQ(of("127.0.0.1", nobody), "127.0.0.1") << nobody;
  EXPECT_EQ(of("192.0.2.1", "127.0.0.1"), "192.0.2.1") << "no proxy of ours";
}

TEST(HttpServer, AnswersReadsWhileAWriteWaits) {
  std::promise<void> may_end;
  Listener server({}, [&](const Request& request) {
    if (request.method == "POST") may_end.get_future().wait();
    return Response{200, "text/plain", request.method, {}};
  });
  RawClient writer(server.port()), reader(server.port());
  writer.send("POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: 0\r\n\r\n");
  EXPECT_EQ(reader.ask(kGet).body, "GET");
  may_end.set_value();
  EXPECT_EQ(writer.answer().body, "POST");
}

TEST(HttpServer, AnswersReadsAndWritesWhileSomethingLongIsThoughtAbout) {
  std::promise<void> may_end;
  Listener server(
      {},
      [&](const Request& request) {
        if (request.path == "/long") may_end.get_future().wait();
        return Response{200, "text/plain", request.method, {}};
      },
      [](const Request& request) { return request.path == "/long"; });
  RawClient thinker(server.port()), reader(server.port()), writer(server.port());
  thinker.send("GET /long HTTP/1.1\r\nHost: h\r\n\r\n");
  EXPECT_EQ(reader.ask(kGet).body, "GET");
  EXPECT_EQ(writer.ask("POST /a HTTP/1.1\r\nHost: h\r\nContent-Length: 0\r\n\r\n").body, "POST");
  may_end.set_value();
  EXPECT_EQ(thinker.answer().body, "GET");
}

TEST(HttpServer, LetsARequestAtHandFinishWhenItStops) {
  std::promise<void> begun, may_end;
  Listener server({}, [&](const Request&) {
    begun.set_value();
    may_end.get_future().wait();
    return Response{200, "text/plain", "finished", {}};
  });
  RawClient client(server.port()), idle(server.port());
  client.send(kGet);
  begun.get_future().wait();
  std::thread stopping([&] { server->stop(60); });
  EXPECT_TRUE(idle.is_closed()) << "a connection without a request is closed at once";
  may_end.set_value();
  const RawAnswer answer = client.answer();
  EXPECT_EQ(answer.body, "finished");
  EXPECT_TRUE(answer.has("Connection: close"));
  EXPECT_TRUE(client.is_closed());
  stopping.join();
  EXPECT_THROW(RawClient another(server.port()), std::runtime_error);
}

TEST(HttpServer, MayBeStoppedTwiceAndWithConnectionsOpen) {
  Listener server;
  RawClient client(server.port());
  EXPECT_EQ(client.ask(kGet).status, 200);
  server->stop(60);
  server->stop(60);
  EXPECT_TRUE(client.is_closed());
}

// Begins with a line and then has nothing more to say.
Response stream(const Request&) {
  Response answer{200, "text/event-stream", "", {{"X-Kind", "stream"}}};
  answer.more = [has_begun = std::make_shared<bool>(false)]() -> std::optional<std::string> {
    return std::exchange(*has_begun, true) ? "" : "data: first\n\n";
  };
  return answer;
}

TEST(HttpServer, HoldsAsManyStreamsAsItMayAndTellsTheNextToComeBack) {
  constexpr int kStreams = 200;
  Listener server({.connections_per_address = 1000}, stream);
  std::vector<std::unique_ptr<RawClient>> readers;
  for (int i = 0; i < kStreams; ++i) {
    readers.push_back(std::make_unique<RawClient>(server.port()));
    ASSERT_EQ(readers.back()->ask(kGet).status, 200) << i;
  }
  RawClient one_more(server.port());
  const RawAnswer refused = one_more.ask(kGet);
  EXPECT_EQ(refused.status, 503);
  EXPECT_TRUE(refused.has("Content-Type: application/problem+json"));
  EXPECT_TRUE(refused.has("Retry-After: 30"));
  EXPECT_TRUE(refused.has("X-Request-Id: "));
  EXPECT_FALSE(refused.has("X-Kind")) << "nothing of the stream's head";
  EXPECT_NE(refused.body.find("too_many_streams"), std::string::npos) << refused.body;
}

TEST(HttpServer, AsksForWhatIsAtHandFirstAndAWorkerOnlyForTheRest) {
  ::signal(SIGPIPE, SIG_IGN);
  // Some more than a socket takes at once, some kept as files too.
  std::map<std::string, Response> at_hand;
  for (const std::size_t size : {100U, 40'000U, 3'000'000U})
    for (const bool is_file : {false, true}) {
      Response answer{200, "", "", {{"X-Kind", "hand"}}};
      std::string bytes(size, 'x');
      for (std::size_t i = 0; i < size; i += 7) bytes[i] = static_cast<char>('a' + i % 25);
      answer.kept = std::make_shared<const std::string>(std::move(bytes));
      answer.kept_fields = std::make_shared<const std::string>("Content-Type: text/plain\r\n");
      if (is_file) answer.kept_file = KeptFile::of(*answer.kept);
      EXPECT_EQ(answer.kept_file != nullptr, is_file && size > 100);
      at_hand.emplace(fmt::format("/{}{}", size, is_file ? "f" : ""), answer);
    }
  std::atomic<int> worked_out = 0;
  ServerSettings settings;
  settings.port = 0;
  const auto started = Server::start(settings, {.respond =
                                                    [&](const Request& request) {
                                                      ++worked_out;
                                                      return echo(request);
                                                    },
                                                .at_once = [&](const Request& request) -> std::optional<Response> {
                                                  if (request.path == "/a") return std::nullopt;
                                                  return at_hand.at(request.path);
                                                }});
  ASSERT_TRUE(started);
  RawClient client((*started)->port());
  for (const auto& [path, wanted] : at_hand) {
    const RawAnswer answer = client.ask("GET " + path + " HTTP/1.1\r\nHost: h\r\n\r\n");
    EXPECT_EQ(answer.status, 200);
    EXPECT_TRUE(answer.body == wanted.bytes()) << path;
    for (const char* field : {"X-Kind: hand", "Content-Type: text/plain", "X-Request-Id: "}) EXPECT_TRUE(answer.has(field));
    EXPECT_EQ(client.ask(kGet).body, "GET /a x=1");
  }
  EXPECT_EQ(worked_out, 6);
}

TEST(KeptFiles, AreSoManyAtOnceThatDescriptorsDoNotRunShort) {
  const std::string bytes(100'000, 'x');
  std::vector<std::shared_ptr<const KeptFile>> files;
  for (int i = 0; i < 64; ++i) ASSERT_TRUE(files.emplace_back(KeptFile::of(bytes))) << i;
  EXPECT_FALSE(KeptFile::of(bytes));
  files.pop_back();
  EXPECT_TRUE(KeptFile::of(bytes));
}

TEST(HttpServer, KeepsAConnectionOfHttp10OnlyWhereItIsAskedTo) {
  Listener server;
  RawClient client(server.port());
  const RawAnswer kept = client.ask("GET /a HTTP/1.0\r\nConnection: keep-alive\r\n\r\n");
  EXPECT_EQ(kept.status, 200);
  EXPECT_TRUE(kept.has("Connection: keep-alive"));
  EXPECT_EQ(client.ask("GET /a HTTP/1.0\r\n\r\n").status, 200);
  EXPECT_TRUE(client.is_closed());
}

TEST(HttpServer, SaysThatThePortIsTaken) {
  Listener server;
  ServerSettings settings;
  settings.port = server.port();
  const auto second = Server::start(settings, {echo});
  ASSERT_FALSE(second);
  EXPECT_EQ(second.error().code, "address_in_use");
  settings.address = "not an address";
  const auto third = Server::start(settings, {echo});
  ASSERT_FALSE(third);
  EXPECT_EQ(third.error().code, "cannot_listen");
}

TEST(Target, IsTakenApartAndDecoded) {
  const auto target = parse_target("/units/a%2Db?from=2027-04-02T10%3A00%3A00%2B11:00&x=a+b&flag&&");
  ASSERT_TRUE(target);
  EXPECT_EQ(target->path, "/units/a-b");
  const std::vector<std::pair<std::string, std::string>> query{{"from", "2027-04-02T10:00:00+11:00"}, {"x", "a b"}, {"flag", ""}};
  EXPECT_EQ(target->query, query);
}

TEST(Target, MayHoldAnyLetter) {
  const auto target = parse_target("/%C3%A9?x=%E2%82%AC%F0%9F%8C%BF%ED%9F%BF%F4%8F%BF%BF");
  ASSERT_TRUE(target);
  EXPECT_EQ(target->path, "/\u00e9");
  EXPECT_EQ(target->query.front().second, "\u20ac\U0001F33F\ud7ff\U0010ffff");
}

TEST(Target, MayNameTheHost) {
  const auto target = parse_target("http://host:80/a?b=c");
  ASSERT_TRUE(target);
  EXPECT_EQ(target->path, "/a");
}

TEST(Target, IsRefusedWhenBroken) {
  for (const char* wrong : {"", "a", "*", "/%", "/%4", "/%g0", "/a%0d%0ab", "/a?b=%00", "/%ff", "/\xff", "/a?b=%c3", "/a?b=%c3x",
                            "/%c0%af", "/%e0%80%af", "/%ed%a0%80", "/%f4%90%80%80", "/%f0%80%80%80"})
    EXPECT_FALSE(parse_target(wrong)) << wrong;
}

}  // namespace
}  // namespace hakea::test
