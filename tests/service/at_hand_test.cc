// What is answered without asking the store or a worker. That it is what would be worked out is checked by the rig, at every
// GET of every test.
#include <gtest/gtest.h>

#include "service/http/head.h"
#include "tests/support/api_rig.h"
#include "tests/support/local_request.h"

namespace hakea::test {
namespace {

using namespace hakea::service;
using Headers = std::map<std::string, std::string>;

class AtHand : public ApiTest {
 protected:
  explicit AtHand(bool is_demo = true) : ApiTest(is_demo) {}
  std::optional<Response> at_hand(const std::string& target, const Headers& headers = {}, const std::string& method = "GET") {
    Request request = local_request(method, "/api/v1" + target);
    request.headers.insert(headers.begin(), headers.end());
    if (!rig->token_in_use().empty()) request.headers["authorization"] = "Bearer " + rig->token_in_use();
    return respond_at_once(rig->parts(), request);
  }
};

TEST_F(AtHand, IsWhatWasAnsweredBeforeUntilSomethingChanges) {
  for (const char* target : {"/days", "/units/sawpit-ridge/days", "/units/sawpit-ridge/hours?quantities=ffdi"}) {
    EXPECT_FALSE(at_hand(target)) << target << " was not written yet";
    const Answer first = rig->get(target);
    const auto again = at_hand(target);
    ASSERT_TRUE(again) << target;
    EXPECT_EQ(again->bytes(), first.text);
    std::string head;
    write_head(head, *again, {});
    for (const char* field : {"ETag", "Cache-Control", "Last-Modified", "Vary"})
      EXPECT_NE(head.find(std::string("\r\n") + field + ": " + first.header(field) + "\r\n"), std::string::npos) << field << head;
    const auto unchanged = at_hand(target, {{"if-none-match", first.header("ETag")}});
    ASSERT_TRUE(unchanged) << target;
    EXPECT_EQ(unchanged->status, 304);
    head.clear();
    write_head(head, *unchanged, {});
    EXPECT_EQ(head.find("Content-Length"), std::string::npos) << head;
    EXPECT_FALSE(at_hand(target, {{"accept-encoding", "gzip"}})) << "that form was not asked for";
    EXPECT_FALSE(at_hand(target, {}, "POST"));
  }
  ASSERT_EQ(rig->call("POST", "/stops", R"({"scope":{"unit":"sawpit-ridge"},"from":"2027-04-02","to":"2027-04-02","kind":"other",
      "why":"w"})")
                .status,
            201);
  EXPECT_FALSE(at_hand("/days")) << "it rests on another picture now";
}

TEST_F(AtHand, IsNothingThatRestsOnTheStoreOrIsRefused) {
  for (const char* target : {"/observations", "/audit", "/days?from=tomorrow", "/days?nonsense=1", "/nothing", "/session"}) {
    rig->get(target);
    EXPECT_FALSE(at_hand(target)) << target;
  }
  rig->get("/days");
  EXPECT_FALSE(at_hand("/days", {{"accept", "image/png"}}));
  EXPECT_TRUE(at_hand("/days", {{"accept", "application/json"}}));
  EXPECT_FALSE(at_hand("/days", {{"accept", "application/json" + std::string(5000, ',')}})) << "looked through by a worker";
}

TEST_F(AtHand, CountsAsEveryRequestDoes) {
  rig->config().api.requests = 3;
  rig->get("/days");
  EXPECT_TRUE(at_hand("/days"));
  EXPECT_TRUE(at_hand("/days"));
  EXPECT_FALSE(at_hand("/days"));
  EXPECT_EQ(rig->get("/days").status, 429);
}

class AtHandOfTokens : public AtHand {
 protected:
  AtHandOfTokens() : AtHand(false) {}
  // Again where a second ended in between: nobody is known any longer than that.
  bool is_at_hand_after_a_call(const std::string& target, const Headers& headers = {}) {
    for (int attempt = 0; attempt < 20; ++attempt) {
      EXPECT_EQ(rig->call("GET", target, "", headers).status, 200);
      if (at_hand(target, headers)) return true;
    }
    return false;
  }
};

TEST_F(AtHandOfTokens, IsForThoseAloneWhoWereTakenWithinThisSecond) {
  const std::string ours = rig->token(Role::viewer), another = rig->token(Role::viewer),
                    foreign = rig->token(Role::viewer, {"x"});
  rig->use_token(ours);
  EXPECT_TRUE(is_at_hand_after_a_call("/days"));
  for (const std::string& token : {another, foreign, std::string("hakea_guess"), std::string()}) {
    rig->use_token(token);
    EXPECT_FALSE(at_hand("/days")) << "it stands ready, but who this is was not asked";
  }
  rig->use_token(ours);
  rig->clock.set(rig->clock.now() + std::chrono::seconds(2));
  EXPECT_FALSE(at_hand("/days"));
}

TEST_F(AtHandOfTokens, IsNothingOnceATokenOrSessionHasEnded) {
  const std::string ours = rig->token(Role::coordinator), operators = rig->token(Role::operator_);
  rig->use_token(ours);
  const Headers page{{"host", "burns.example"}, {"origin", "https://burns.example"}, {"content-type", "application/json"}};
  const Answer session = rig->call("POST", "/session", R"({"token":")" + ours + "\"}", page);
  const std::string set = session.header("Set-Cookie");
  Headers by_cookie = page;
  by_cookie["cookie"] = set.substr(0, set.find(';'));
  rig->use_token("");
  EXPECT_TRUE(is_at_hand_after_a_call("/days", by_cookie));
  const std::string secret = set.substr(set.find('=') + 1, set.find(';') - set.find('=') - 1);
  EXPECT_FALSE(at_hand("/days", {{"authorization", secret}})) << "a cookie's text is no header's";
  ASSERT_EQ(rig->call("DELETE", "/session", "", by_cookie).status, 204);
  EXPECT_FALSE(at_hand("/days", by_cookie));

  rig->use_token(ours);
  EXPECT_TRUE(is_at_hand_after_a_call("/days"));
  rig->use_token(operators);
  ASSERT_EQ(rig->call("DELETE", "/tokens/" + ours.substr(6, 8)).status, 204);
  rig->use_token(ours);
  EXPECT_FALSE(at_hand("/days"));
  EXPECT_EQ(rig->get("/days").status, 401);
}

TEST(KnownCallers, KeepNobodyWhoWasLookedUpBeforeSomethingEnded) {
  KnownCallers callers;
  const KnownCallers::Shown shown{"Bearer hakea_x"};
  const UtcTime now{};
  const std::uint64_t before = callers.endings();
  callers.forget();
  callers.keep(shown, {.name = "n", .token_id = "t", .address = "", .request_id = ""}, now, before);
  EXPECT_FALSE(callers.find(shown, now));
  callers.keep(shown, {.name = "n", .token_id = "t", .address = "", .request_id = ""}, now, callers.endings());
  EXPECT_TRUE(callers.find(shown, now));
  EXPECT_FALSE(callers.find({shown.text, true}, now));
  EXPECT_FALSE(callers.find(shown, now + std::chrono::seconds(1)));
}

}  // namespace
}  // namespace hakea::test
