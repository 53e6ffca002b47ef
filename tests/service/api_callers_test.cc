// What callers may do and how often: keyed requests, rate limits, pages elsewhere, pages of problems.
#include <gtest/gtest.h>

#include <filesystem>
#include <regex>

#include "service/http/problem_pages.h"
#include "tests/support/api_rig.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"
#include "tests/support/must.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

const std::string kReading = R"({"station":"mill-hill","at":"2027-03-30T06:00:00+11:00","kind":"reading","values":{
  "wind_speed":{"value":9,"unit":"km/h"}}})";
const std::string kOther = R"({"station":"mill-hill","at":"2027-03-30T05:00:00+11:00","kind":"reading","values":{
  "wind_speed":{"value":9,"unit":"km/h"}}})";

class ApiCallers : public ApiTest {
 protected:
  ApiCallers() : ApiTest(false) {}
  void SetUp() override {
    ApiTest::SetUp();
    if (!rig) return;
    officer = rig->token(Role::officer);
    rig->use_token(officer);
  }
  Answer post(const std::string& body, const std::string& key, const std::string& path = "/observations") {
    return rig->call("POST", path, body, {{"idempotency-key", key}});
  }
  std::size_t observations() { return must(rig->store().entries(EntryKind::observation)).size(); }
  std::string officer;
};

TEST_F(ApiCallers, ARequestThatIsSentAgainIsCarriedOutOnce) {
  const Answer first = post(kReading, "\"k-1\"");
  ASSERT_EQ(first.status, 201) << first.text;
  const Answer again = post(kReading, "\"k-1\"");
  EXPECT_EQ(again.status, 201);
  EXPECT_EQ(again.text, first.text);
  EXPECT_EQ(again.header("Location"), first.header("Location"));
  EXPECT_EQ(again.header("ETag"), first.header("ETag"));
  EXPECT_EQ(observations(), 1u);
  EXPECT_EQ(post(kReading, "\"k-2\"").header("Location"), "/api/v1/observations/2") << "another key is another request";
}

TEST_F(ApiCallers, AKeyBelongsToOneRequestOfOneCaller) {
  ASSERT_EQ(post(kReading, "\"k-1\"").status, 201);
  const Answer reused = post(kOther, "\"k-1\"");
  EXPECT_EQ(reused.status, 422);
  EXPECT_EQ(reused.at("/type"), R"("/problems/idempotency_key_reused")");
  EXPECT_EQ(observations(), 1u);
  rig->use_token(rig->token(Role::officer));
  EXPECT_EQ(post(kOther, "\"k-1\"").status, 201) << "another caller's key of the same name";
}

TEST_F(ApiCallers, AKeyIsNeededWhereAReadingCouldBeStoredTwice) {
  const Answer none = rig->call("POST", "/observations", kReading);
  EXPECT_EQ(none.status, 400);
  EXPECT_EQ(none.at("/type"), R"("/problems/idempotency_key_required")");
  EXPECT_EQ(rig->call("POST", "/outcomes", "{}").at("/type"), R"("/problems/idempotency_key_required")");
  EXPECT_EQ(rig->call("POST", "/stops", "{}").status, 422) << "elsewhere it may be left out";
  ApiRig demo;
  EXPECT_EQ(demo.call("POST", "/observations", kReading).status, 201) << "a person with curl at the demo";
  for (const char* wrong : {"k-1", "\"", "\"\"", "\"a\"b", "\"a\"; x=1", "\"a\\n\"", "\"\xc3\xa9\""})
    EXPECT_EQ(post(kReading, wrong).at("/type"), R"("/problems/idempotency_key")") << wrong;
  EXPECT_EQ(post(kReading, "\"" + std::string(256, 'k') + "\"").status, 400);
  EXPECT_EQ(post(kReading, R"("a \"b\" \\")").status, 201);
}

TEST_F(ApiCallers, WhatWasRefusedMayBeMendedUnderTheSameKey) {
  EXPECT_EQ(post("{}", "\"k-1\"").status, 422);
  EXPECT_EQ(post(kReading, "\"k-1\"").status, 201);
  EXPECT_EQ(observations(), 1u);
}

TEST_F(ApiCallers, AKeyIsForgottenAfterADay) {
  ASSERT_EQ(post(kReading, "\"k-1\"").status, 201);
  rig->clock.set(rig->clock.now() + std::chrono::hours(23));
  EXPECT_EQ(post(kReading, "\"k-1\"").header("Location"), "/api/v1/observations/1");
  rig->clock.set(rig->clock.now() + std::chrono::hours(2));
  EXPECT_EQ(post(kReading, "\"k-1\"").header("Location"), "/api/v1/observations/2");
}

TEST_F(ApiCallers, ARequestThatStillRunsIsToldSo) {
  const KeyedRequest running{officer.substr(6, 8), "k-1", ""};
  ASSERT_TRUE(rig->parts().running->begin(running));
  const Answer early = post(kReading, "\"k-1\"");
  EXPECT_EQ(early.status, 409);
  EXPECT_EQ(early.at("/type"), R"("/problems/still_running")");
  rig->parts().running->end(running);
  EXPECT_EQ(post(kReading, "\"k-1\"").status, 201);
}

// As when the service ends between storing and answering: that it was carried out is known, the answer is not.
TEST_F(ApiCallers, WhatWasStoredIsNotStoredAgainThoughTheAnswerWasLost) {
  for (const std::string& body : {kReading, "[" + kReading + "," + kOther + "]"}) {
    const std::size_t before = observations();
    rig->let_judging_fail(true);  // nothing of a station's is judged; below a unit's is
    std::string of_unit = body;
    for (std::size_t at; (at = of_unit.find(R"("station":"mill-hill")")) != std::string::npos;)
      of_unit.replace(at, 21, R"("unit":"sawpit-ridge")");
    const std::string key = "\"k-" + std::to_string(before) + "\"";
    ASSERT_EQ(post(of_unit, key).status, 500);
    rig->let_judging_fail(false);
    const std::size_t after = observations();
    ASSERT_GT(after, before);
    const Answer again = post(of_unit, key);
    EXPECT_EQ(again.status, 201) << again.text;
    EXPECT_EQ(observations(), after);
    const std::string id = "\"" + std::to_string(before + 1) + "\"";
    EXPECT_EQ(again.at(body.front() == '[' ? "/observations/0/id" : "/id"), id);
  }
}

TEST_F(ApiCallers, WhatWasTakenBackIsSaidToBeSoThoughTheAnswerWasLost) {
  const Answer draft = rig->call("POST", "/bookings", R"({"unit":"sawpit-ridge","date":"2027-04-05"})");
  ASSERT_EQ(draft.status, 201) << draft.text;
  const std::string path = draft.header("Location").substr(std::string_view("/api/v1").size());
  const auto take_back = [&] {
    return rig->call("DELETE", path, "", {{"idempotency-key", "\"k-1\""}, {"if-match", draft.header("ETag")}});
  };
  rig->let_judging_fail(true);
  ASSERT_EQ(take_back().status, 500);
  rig->let_judging_fail(false);
  const Answer again = take_back();
  EXPECT_EQ(again.status, 204) << again.text;
  EXPECT_EQ(again.text, "");
  EXPECT_EQ(rig->get(path).status, 404);
}

TEST_F(ApiCallers, ATokenMayCallSoOftenAndIsToldHowOftenStill) {
  rig->config().api.requests = 3;
  rig->config().api.seconds = 60;
  for (int left = 2; left >= 0; --left) {
    const Answer answer = rig->get("/status");
    EXPECT_EQ(answer.status, 200);
    EXPECT_EQ(answer.header("RateLimit-Policy"), R"("default";q=3;w=60)");
    EXPECT_TRUE(answer.header("RateLimit").starts_with(R"("default";r=)" + std::to_string(left) + ";t="))
        << answer.header("RateLimit");
  }
  const Answer over = rig->get("/status");
  EXPECT_EQ(over.status, 429);
  EXPECT_EQ(over.at("/type"), R"("/problems/rate_limit")");
  const int wait = std::stoi(over.header("Retry-After"));
  EXPECT_GT(wait, 0);
  EXPECT_LE(wait, 60);
  rig->use_token(rig->token(Role::viewer));
  EXPECT_EQ(rig->get("/status").status, 200) << "each token by itself";
  rig->use_token("");
  for (int i = 0; i < 3; ++i) EXPECT_EQ(rig->get("/status").status, 401);
  EXPECT_EQ(rig->get("/nowhere").status, 429) << "without a token by address, whatever is asked for";
  rig->use_token(officer);
  rig->clock.set(rig->clock.now() + std::chrono::seconds(wait));
  EXPECT_EQ(rig->get("/status").status, 200);
  rig->config().api.requests = 0;
  EXPECT_EQ(rig->get("/status").header("RateLimit"), "");
}

TEST_F(ApiCallers, PagesElsewhereMayCallOnlyFromConfiguredOrigins) {
  const auto from = [&](const std::string& method, const std::string& origin) {
    return rig->call(method, "/units", "", {{"origin", origin}});
  };
  EXPECT_EQ(from("GET", "https://maps.example.org").header("Access-Control-Allow-Origin"), "") << "off";
  rig->config().api.allowed_origins = {"https://maps.example.org"};
  const Answer allowed = from("GET", "https://maps.example.org");
  EXPECT_EQ(allowed.header("Access-Control-Allow-Origin"), "https://maps.example.org");
  EXPECT_EQ(allowed.header("Access-Control-Allow-Credentials"), "");
  EXPECT_NE(allowed.header("Access-Control-Expose-Headers").find("RateLimit"), std::string::npos);
  EXPECT_NE(allowed.header("Vary").find("Origin"), std::string::npos);
  for (const char* other : {"https://maps.example.org.evil.example", "http://maps.example.org", "null", ""}) {
    EXPECT_EQ(from("GET", other).header("Access-Control-Allow-Origin"), "") << other;
    EXPECT_NE(from("GET", other).header("Vary").find("Origin"), std::string::npos) << "caches keep them apart";
  }
  rig->use_token("");
  const Answer asks = from("OPTIONS", "https://maps.example.org");
  EXPECT_EQ(asks.status, 204) << "browsers ask without a token";
  EXPECT_EQ(asks.header("Access-Control-Allow-Methods"), "GET, HEAD, POST, OPTIONS");
  EXPECT_NE(asks.header("Access-Control-Allow-Headers").find("Idempotency-Key"), std::string::npos);
}

TEST_F(ApiCallers, OptionsNamesTheMethodsOfAPath) {
  const Answer answer = rig->call("OPTIONS", "/stops/s-0001");
  EXPECT_EQ(answer.status, 204);
  EXPECT_EQ(answer.header("Allow"), "GET, HEAD, PUT, DELETE, OPTIONS");
  EXPECT_EQ(answer.text, "");
  EXPECT_EQ(rig->call("OPTIONS", "/nowhere").status, 404);
  for (const char* path : {"/", "/problems", "/problems/query"}) {
    Request request;
    request.path = path;
    request.method = "OPTIONS";
    EXPECT_EQ(answer_of(respond(rig->parts(), request)).header("Allow"), "GET, HEAD, OPTIONS") << path;
    request.method = "POST";
    const Answer refused = answer_of(respond(rig->parts(), request));
    EXPECT_EQ(refused.status, 405) << path;
    EXPECT_EQ(refused.header("Allow"), "GET, HEAD, OPTIONS") << path;
  }
}

TEST_F(ApiCallers, TheTypeOfAProblemIsAPageThatAnybodyMayRead) {
  const auto page = [&](const std::string& path, const std::string& accept) {
    Request request;
    request.path = path;
    request.headers["accept"] = accept;
    return respond(rig->parts(), request);
  };
  for (const ProblemKind& kind : problem_kinds()) {
    const Response html = page("/problems/" + std::string(kind.code), "");
    EXPECT_EQ(html.status, 200) << kind.code;
    EXPECT_EQ(html.content_type, "text/html; charset=utf-8");
    EXPECT_NE(html.bytes().find(std::string(kind.means)), std::string::npos);
    EXPECT_NE(html.bytes().find(std::string(kind.what_to_do)), std::string::npos);
    EXPECT_EQ(page("/problems/" + std::string(kind.code), "text/plain").content_type, "text/plain; charset=utf-8");
  }
  EXPECT_NE(page("/problems", "").bytes().find("/problems/role"), std::string::npos);
  EXPECT_EQ(page("/problems/none", "").status, 404);
  EXPECT_EQ(page("/problemsolving", "").status, 404);
}

// Every kind that the sources name in a problem has its page; a new kind is one row more.
TEST(ProblemPages, ThereIsOneForEveryKind) {
  std::set<std::string> kinds, named;
  for (const ProblemKind& kind : problem_kinds()) {
    EXPECT_TRUE(kinds.insert(std::string(kind.code)).second) << kind.code << " twice";
    EXPECT_GE(kind.status, 400);
  }
  const std::regex problem(R"re(\b[45]\d\d,\s*"([a-z_]+)",\s*")re");
  for (const char* room : {"service/access", "service/http", "service/ogc"})
    for (const auto& file :
         std::filesystem::recursive_directory_iterator(std::filesystem::path(tests_folder()).parent_path() / room)) {
      if (file.path().extension() != ".cc" || file.path().filename() == "problem_pages.cc") continue;
      const std::string source = file_bytes(file.path());
      for (std::sregex_iterator match(source.begin(), source.end(), problem), end; match != end; ++match)
        named.insert((*match)[1]);
    }
  EXPECT_TRUE(named.contains("not_found") && named.contains("rate_limit")) << "the search finds what there is";
  // What the store, tokens, targets and the reader call what went wrong.
  for (const char* code : {"store_failed", "disk_full", "damaged_database", "in_doubt", "unknown_token", "expired_token",
                           "revoked_token", "bad_target", "scope", "invalid_jwt", "unknown_key", "keys_unavailable", "no_role",
                           "no_district", "no_unit", "no_random", "files_gone", "too_slow", "run_unreadable"})
    named.insert(code);
  for (const std::string& code : named) EXPECT_TRUE(kinds.contains(code)) << code << " has no page";
}

}  // namespace
}  // namespace hakea::test
