// Page sessions: signing in with a token, the cookie, its end, and that another site's page can do nothing with it.
#include "service/access/page_session.h"

#include <gtest/gtest.h>

#include "service/base/content_hash.h"
#include "tests/support/api_rig.h"

namespace hakea::test {
namespace {

using namespace hakea::service;
using Headers = std::map<std::string, std::string>;

const Headers kFromThePage{{"host", "burns.example"}, {"origin", "https://burns.example"}, {"content-type", "application/json"}};
constexpr const char* kStop =
    R"({"scope":{"unit":"sawpit-ridge"},"from":"2027-04-02","to":"2027-04-02","kind":"other","why":"w"})";

class PageSessions : public ApiTest {
 protected:
  PageSessions() : ApiTest(false) {}
  void SetUp() override {
    ApiTest::SetUp();
    if (!rig) return;
    token = rig->token(Role::officer);
  }
  Answer sign_in(const std::string& with, const Headers& headers = kFromThePage) {
    return rig->call("POST", "/session", R"({"token":")" + with + "\"}", headers);
  }
  static std::string value_of(const Answer& answer) {
    const std::string set = answer.header("Set-Cookie");
    return set.substr(set.find('=') + 1, set.find(';') - set.find('=') - 1);
  }
  // As the page whose cookie this is.
  Answer call(const std::string& cookie, const std::string& method, const std::string& target, const std::string& body = {},
              Headers headers = kFromThePage) {
    headers["cookie"] = "theme=dark; __Host-session=" + cookie;
    return rig->call(method, target, body, headers);
  }
  std::string token;
};

TEST_F(PageSessions, BeginWithATokenAndACookieThatThePageCannotRead) {
  const Answer answer = sign_in(token);
  ASSERT_EQ(answer.status, 201) << answer.text;
  const std::string cookie = answer.header("Set-Cookie");
  EXPECT_TRUE(cookie.starts_with("__Host-session=")) << cookie;
  for (const char* part : {"; Secure", "; HttpOnly", "; SameSite=Lax", "; Path=/"})
    EXPECT_NE(cookie.find(part), std::string::npos) << cookie;
  EXPECT_EQ(cookie.find("Domain"), std::string::npos);
  EXPECT_EQ(value_of(answer).size(), 43U) << "256 bits";
  EXPECT_EQ(answer.at("/role"), R"("officer")");
  EXPECT_EQ(answer.text.find(token.substr(15)), std::string::npos);
  EXPECT_EQ(answer.text.find(value_of(answer)), std::string::npos);
  EXPECT_EQ(call(value_of(answer), "GET", "/units").status, 200);
  const Answer who = call(value_of(answer), "GET", "/session");
  EXPECT_EQ(who.at("/actor"), R"("officer")");
  EXPECT_EQ(who.header("Cache-Control"), "no-store");
  EXPECT_EQ(call(value_of(answer), "POST", "/stops", kStop).status, 201);
  EXPECT_EQ(call(value_of(answer), "GET", "/audit").status, 403) << "no more than the token's role";
}

TEST_F(PageSessions, AreKeptAsAHash) {
  const std::string cookie = value_of(sign_in(token));
  EXPECT_TRUE(*rig->store().session(content_hash(cookie)));
  EXPECT_FALSE(*rig->store().session(cookie));
}

TEST_F(PageSessions, EndAfterTwelveHoursOrAnHourOfSilence) {
  const std::string cookie = value_of(sign_in(token));
  const UtcTime begun = rig->clock.now();
  const auto at = [&](std::chrono::minutes later) {
    rig->clock.set(begun + later);
    return call(cookie, "GET", "/units").status;
  };
  using std::chrono::minutes;
  for (int m = 0; m < 12 * 60 - 15; m += 58) EXPECT_EQ(at(minutes(m)), 200) << m;
  EXPECT_EQ(at(minutes(12 * 60 - 15)), 200);
  EXPECT_EQ(at(minutes(12 * 60)), 401) << "used until the end";
  rig->clock.set(begun);
  const std::string idle = value_of(sign_in(token));
  rig->clock.set(begun + minutes(61));
  EXPECT_EQ(call(idle, "GET", "/units").status, 401);
}

TEST_F(PageSessions, EndWithTheirTokenAndWhenSignedOut) {
  const std::string cookie = value_of(sign_in(token)), other = value_of(sign_in(token));
  const Answer out = call(cookie, "DELETE", "/session");
  EXPECT_EQ(out.status, 204);
  EXPECT_NE(out.header("Set-Cookie").find("Max-Age=0"), std::string::npos);
  EXPECT_EQ(call(cookie, "GET", "/units").status, 401);
  EXPECT_EQ(call(other, "GET", "/units").status, 200);
  ASSERT_TRUE(rig->store().revoke_token({}, rig->clock.now(), token.substr(6, 8)));
  rig->clock.set(rig->clock.now() + std::chrono::seconds(1));  // what another process ends is known a second later
  EXPECT_EQ(call(other, "GET", "/units").status, 401);
  const auto audit = *rig->store().audit(0, 4);
  EXPECT_EQ(audit[0].action, "revoke_token");
  EXPECT_EQ(audit[1].action, "end_session");
  EXPECT_EQ(audit[2].action, "open_session");
}

TEST_F(PageSessions, TakeNoWriteFromAnotherPage) {
  const std::string cookie = value_of(sign_in(token));
  const std::size_t rows = (*rig->store().audit(0, 1000)).size();
  const std::string host = "burns.example", json = "application/json";
  for (const Headers& foreign : std::vector<Headers>{
           {{"host", host}, {"content-type", json}},
           {{"host", host}, {"content-type", json}, {"origin", "https://evil.example"}},
           {{"host", host}, {"content-type", json}, {"origin", "https://burns.example.evil.example"}},
           {{"host", host}, {"content-type", json}, {"origin", "null"}},
           {{"host", host}, {"content-type", json}, {"origin", "https://evil.example"}, {"sec-fetch-site", "same-origin"}},
           {{"host", host}, {"content-type", json}, {"sec-fetch-site", "same-site"}},
           {{"host", host}, {"content-type", json}, {"sec-fetch-site", "cross-site"}},
           {{"host", host}, {"origin", "https://burns.example"}},
           {{"host", host}, {"origin", "https://burns.example"}, {"content-type", "text/plain"}},
           {{"host", host}, {"origin", "https://burns.example"}, {"content-type", "application/x-www-form-urlencoded"}}}) {
    const Answer answer = call(cookie, "POST", "/stops", kStop, foreign);
    EXPECT_EQ(answer.status, 403) << answer.text;
    EXPECT_EQ(answer.at("/type"), R"("/problems/foreign_page")");
    EXPECT_EQ(call(cookie, "GET", "/units", "", foreign).status, 200) << "reading changes nothing, and is not shown to them";
  }
  EXPECT_EQ((*rig->store().audit(0, 1000)).size(), rows);
  EXPECT_EQ(
      call(cookie, "POST", "/stops", kStop, {{"host", host}, {"sec-fetch-site", "same-origin"}, {"content-type", json}}).status,
      201);
  rig->config().access.origin = "https://public.example";
  EXPECT_EQ(call(cookie, "POST", "/stops", kStop).status, 403) << "ours is the configured one";
  Headers configured = kFromThePage;
  configured["origin"] = "https://public.example";
  EXPECT_EQ(call(cookie, "POST", "/stops", kStop, configured).status, 201);
}

TEST_F(PageSessions, DoNotBeginByWhatIsNoTokenNorForAnotherPage) {
  std::string wrong = token;
  wrong[20] = wrong[20] == 'x' ? 'y' : 'x';
  const Answer refused = sign_in(wrong);
  EXPECT_EQ(refused.status, 401);
  EXPECT_NE(refused.header("WWW-Authenticate").find("invalid_token"), std::string::npos);
  EXPECT_EQ(refused.header("Set-Cookie"), "");
  Headers foreign = kFromThePage;
  foreign["origin"] = "https://evil.example";
  EXPECT_EQ(sign_in(token, foreign).status, 403);
  foreign = kFromThePage;
  foreign["content-type"] = "text/plain";
  EXPECT_EQ(sign_in(token, foreign).status, 415);
  EXPECT_EQ(rig->call("POST", "/session", "{}", kFromThePage).mistakes(), std::vector<std::string>{"/token required"});
  for (int i = 0; i < 9; ++i) EXPECT_EQ(sign_in(wrong).status, 401);
  EXPECT_EQ(sign_in(wrong).status, 429) << "guessing ends";
  EXPECT_EQ(sign_in(token).status, 201) << "whoever knows a token is not kept out by it";
}

TEST(Cookies, AreFoundByTheirWholeName) {
  EXPECT_EQ(cookie_in("a=1; __Host-session=xyz; b=2", kSessionCookie), "xyz");
  EXPECT_EQ(cookie_in("__Host-session=xyz", kSessionCookie), "xyz");
  EXPECT_EQ(cookie_in("x__Host-session=xyz", kSessionCookie), "");
  EXPECT_EQ(cookie_in("__Host-session2=xyz", kSessionCookie), "");
  EXPECT_EQ(cookie_in("", kSessionCookie), "");
  EXPECT_EQ(cookie_in(";;;", kSessionCookie), "");
}

}  // namespace
}  // namespace hakea::test
