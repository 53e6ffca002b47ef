// Access tokens of an identity provider: published signatures, and tokens signed by keys that the OpenSSL library makes here.
#include "service/access/oidc.h"

#include <gtest/gtest.h>

#include <future>

#include "service/access/key_fetch.h"
#include "service/access/public_key.h"
#include "service/http/server.h"
#include "tests/support/identity_provider.h"

namespace hakea::service {
namespace {

using test::IdentityProvider;
using By = IdentityProvider::By;

std::string bytes(std::string_view text) { return from_base64url(text).value(); }

constexpr std::string_view kPayload =
    "eyJpc3MiOiJqb2UiLA0KICJleHAiOjEzMDA4MTkzODAsDQogImh0dHA6Ly9leGFtcGxlLmNvbS9pc19yb290Ijp0cnVlfQ";

// RFC 7515, appendix A.2 [from memory; that the signature holds shows that nothing was remembered wrongly].
TEST(PublicKeys, VerifyThePublishedRs256Signature) {
  const auto key = PublicKey::rsa(
      bytes("ofgWCuLjybRlzo0tZWJjNiuSfb4p4fAkd_wWJcyQoTbji9k0l8W26mPddxHmfHQp-Vaw-4qPCJrcS2mJPMEzP1Pt0Bm4d4QlL-yRT-SFd2lZS-"
            "pCgNMsD1W"
            "_YpRPEwOWvG6b32690r2jZ47soMZo9wGzjb_7OMg0LOL-bSf63kpaSHSXndS5z5rexMdbBYUsLA9e-KXBdQOS-"
            "UTo7WTBEMa2R2CapHg665xsmtdVMTBQY4uD"
            "Zlxvb3qCo5ZwKh9kG4LT6_I5IhlJH7aGhyxXFvUK-DWNmoudF8NAco9_h9iaGNj8q2ethFkMLs91kzk2PAcDTW9gb54h4FRWyuXpoQ"),
      bytes("AQAB"));
  ASSERT_TRUE(key);
  const std::string
      message = "eyJhbGciOiJSUzI1NiJ9." + std::string(kPayload),
      signature = bytes(
          "cC4hiUPoj9Eetdgtv3hF80EGrhuB__dzERat0XF9g2VtQgr9PJbu3XOiZj5RZmh7AAuHIm4Bh-0Qc_lF5YKt_O8W2Fp5jujGbds9uJdbF9CUAr7"
          "t1dnZcAcQjbKBYNX4BAynRFdiuB--f_nZLgrnbyTyWzO75vRK5h6xBArLIARNPvkSjtQBMHlb1L07Qe7K0GarZRmB_eSN9383LcOLn6_dO--xi12j"
          "zDwusC-eOkHWEsqtFZESc6BfI7noOPqvhJ1phCnvWh6IeYI2w9QOYEUipUTI8np6LbgGY9Fs98rqVt5AXLIhWkWywlVmtVrBp0igcN_IoypGlUPQGe"
          "77Rw");
  EXPECT_TRUE(key->verifies(message, signature));
  EXPECT_FALSE(key->verifies(message + " ", signature));
  std::string other = signature;
  other[7] = static_cast<char>(other[7] ^ 1);
  EXPECT_FALSE(key->verifies(message, other));
}

// RFC 7515, appendix A.3 [from memory, as above].
TEST(PublicKeys, VerifyThePublishedEs256Signature) {
  const auto key =
      PublicKey::p256(bytes("f83OJ3D2xF1Bg8vub9tLe1gHMzV76e8Tus9uPHvRVEU"), bytes("x_FEzRu9m36HLN_tue659LNpXW6pCyStikYjKIWI5a0"));
  ASSERT_TRUE(key);
  const std::string message = "eyJhbGciOiJFUzI1NiJ9." + std::string(kPayload),
                    signature = bytes("DtEhU3ljbEg8L38VWAfUAqOyKAM6-Xx-F4GawxaepmXFCgfTjDxw5djxLa8ISlSApmWQxfKTUJqPP3-Kg6NU1Q");
  EXPECT_TRUE(key->verifies(message, signature));
  EXPECT_FALSE(key->verifies(message + "A", signature));
  EXPECT_FALSE(key->verifies(message, signature.substr(0, 63)));
  EXPECT_FALSE(key->verifies(message, std::string(64, '\0')));
}

TEST(PublicKeys, AreNotMadeOfWhatIsNone) {
  EXPECT_FALSE(PublicKey::rsa(std::string(128, '\xff'), bytes("AQAB"))) << "1024 bits";
  EXPECT_FALSE(PublicKey::p256(std::string(32, 'a'), std::string(32, 'b'))) << "not on the curve";
  EXPECT_FALSE(PublicKey::p256("", ""));
}

// RFC 4648, section 10, without padding.
TEST(Base64url, IsThePublishedOne) {
  for (const auto& [plain, coded] : {std::pair("", ""), std::pair("f", "Zg"), std::pair("fo", "Zm8"), std::pair("foo", "Zm9v"),
                                     std::pair("foob", "Zm9vYg"), std::pair("foobar", "Zm9vYmFy")}) {
    EXPECT_EQ(base64url(plain), coded);
    EXPECT_EQ(from_base64url(coded), plain);
  }
  for (const char* wrong : {"Zg==", "Z", "Zm9v+", "Zh", "Zm9v\n"}) EXPECT_EQ(from_base64url(wrong), std::nullopt) << wrong;
}

constexpr UtcTime kNow{std::chrono::seconds(1'806'300'000)};
constexpr std::int64_t kNowS = 1'806'300'000;

json::object claims() {
  return {{"iss", "https://id.example"},
          {"aud", json::array{"other", "hakea"}},
          {"sub", "u-17"},
          {"exp", kNowS + 300},
          {"realm", {{"roles", json::array{"tea", "burn-officers"}}}}};
}

OidcSettings settings() {
  OidcSettings oidc;
  oidc.issuer = "https://id.example";
  oidc.audience = "hakea";
  oidc.keys = "jwks.json";
  oidc.role_claim = "realm.roles";
  oidc.roles = {{"burn-officers", Role::officer}, {"machines", Role::operator_}};
  return oidc;
}

class OidcTokens : public ::testing::Test {
 protected:
  static void SetUpTestSuite() { provider = new IdentityProvider; }
  static void TearDownTestSuite() { delete provider; }

  std::string code_of(const std::string& jwt, UtcTime now = kNow) {
    const auto actor = oidc_.actor_of(jwt, now);
    return actor ? "" : actor.error().code;
  }
  std::string code_with(std::string_view name, const json::value& value) {
    json::object changed = claims();
    changed[name] = value;
    return code_of(provider->token(changed));
  }

  static inline IdentityProvider* provider = nullptr;
  int reads_ = 0;
  std::string jwks_ = provider->jwks();
  Oidc oidc_{settings(), [this]() -> Result<std::string> {
               ++reads_;
               if (jwks_.empty()) return Error{ErrorKind::failed, "unreadable", "", "no answer", ""};
               return jwks_;
             }};
};

TEST_F(OidcTokens, OfBothAlgorithmsStandForAnActor) {
  for (const By by : {By::rsa, By::ec}) {
    const auto actor = oidc_.actor_of(provider->token(claims(), by), kNow);
    ASSERT_TRUE(actor) << actor.error().what;
    EXPECT_EQ(actor->name, "u-17");
    EXPECT_EQ(actor->role, Role::officer);
    EXPECT_TRUE(actor->may(Scope::observations));
    EXPECT_FALSE(actor->may(Scope::units));
    EXPECT_EQ(actor->token_id, "oidc:u-17") << "each person is counted and known by themselves";
  }
  EXPECT_EQ(reads_, 1) << "the keys are kept";
}

TEST_F(OidcTokens, ALongNameIsCutBetweenItsLetters) {
  json::object named = claims();
  std::string name = "x";
  for (int i = 0; i < 150; ++i) name += "\u00e9";  // two bytes each, so that byte 200 is within one
  named["sub"] = name;
  const auto actor = oidc_.actor_of(provider->token(named), kNow);
  ASSERT_TRUE(actor) << actor.error().what;
  EXPECT_EQ(actor->name, name.substr(0, 199));
  EXPECT_EQ(actor->token_id, "oidc:" + name.substr(0, 195));
}

TEST_F(OidcTokens, MayDoWhatAnyOfTheirRolesMay) {
  json::object both = claims();
  both["realm"] = {{"roles", "burn-officers machines"}};
  const auto actor = oidc_.actor_of(provider->token(both), kNow);
  ASSERT_TRUE(actor);
  EXPECT_TRUE(actor->may(Scope::observations));
  EXPECT_TRUE(actor->may(Scope::tokens));
  EXPECT_FALSE(actor->may(Scope::units)) << "neither decides";
}

TEST_F(OidcTokens, AreHeldToIssuerAudienceAndTime) {
  EXPECT_EQ(code_with("iss", "https://id.example/"), "invalid_jwt");
  EXPECT_EQ(code_with("iss", nullptr), "invalid_jwt");
  EXPECT_EQ(code_with("aud", "other"), "invalid_jwt");
  EXPECT_EQ(code_with("aud", json::array{}), "invalid_jwt");
  EXPECT_EQ(code_with("aud", "hakea"), "");
  EXPECT_EQ(code_with("sub", ""), "invalid_jwt");
  EXPECT_EQ(code_with("exp", nullptr), "invalid_jwt");
  EXPECT_EQ(code_with("exp", json::string(std::to_string(kNowS + 300))), "invalid_jwt");
  EXPECT_EQ(code_with("exp", kNowS - 59), "") << "clocks differ";
  EXPECT_EQ(code_with("exp", kNowS - 60), "expired_token");
  EXPECT_EQ(code_with("nbf", kNowS + 60), "");
  EXPECT_EQ(code_with("nbf", kNowS + 61), "invalid_jwt");
}

TEST_F(OidcTokens, OfAnotherTypeOrAlgorithmAreRefused) {
  const auto code = [&](std::string_view name, const json::value& value, By by = By::rsa) {
    json::object header = IdentityProvider::header(by);
    header[name] = value;
    return code_of(provider->token(claims(), by, header));
  };
  EXPECT_EQ(code("typ", "JWT"), "invalid_jwt");
  EXPECT_EQ(code("typ", nullptr), "invalid_jwt");
  EXPECT_EQ(code("typ", "application/AT+JWT"), "");
  for (const char* algorithm : {"none", "HS256", "RS512", "PS256", "rs256", ""}) EXPECT_EQ(code("alg", algorithm), "invalid_jwt");
  EXPECT_EQ(code("alg", "ES256"), "unknown_key") << "the key of that id is for another algorithm";
  EXPECT_EQ(code("crit", json::array{"b64"}), "invalid_jwt");
}

TEST_F(OidcTokens, ThatWereChangedOrAreNoneAreRefused) {
  const std::string good = provider->token(claims());
  json::object more = claims();
  more["realm"] = {{"roles", json::array{"machines"}}};
  const std::string other = provider->token(more);
  const auto part = [](const std::string& jwt, int i) {
    const std::size_t a = jwt.find('.'), b = jwt.find('.', a + 1);
    return i == 0 ? jwt.substr(0, a) : i == 1 ? jwt.substr(a + 1, b - a - 1) : jwt.substr(b + 1);
  };
  EXPECT_EQ(code_of(part(good, 0) + "." + part(other, 1) + "." + part(good, 2)), "invalid_jwt");
  EXPECT_EQ(code_of(part(good, 0) + "." + part(good, 1) + "."), "invalid_jwt");
  for (const std::string& none :
       {std::string(), std::string("."), std::string(".."), std::string("a.b.c"), good + ".x", good + "="})
    EXPECT_EQ(code_of(none), "invalid_jwt") << none;
  EXPECT_EQ(code_of(IdentityProvider().token(claims())), "invalid_jwt") << "another provider's key of the same id";
}

TEST_F(OidcTokens, OfPeopleWhoAreNobodyHereAreNotTaken) {
  EXPECT_EQ(code_with("realm", {{"roles", json::array{"tea"}}}), "no_role");
  OidcSettings narrow = settings();
  narrow.districts_claim = "districts";
  Oidc oidc(narrow, [] { return Result<std::string>(provider->jwks()); });
  EXPECT_EQ(oidc.actor_of(provider->token(claims()), kNow).error().code, "no_district") << "missing is not all";
  json::object of_one = claims();
  of_one["districts"] = json::array{"tallowmere"};
  const auto actor = oidc.actor_of(provider->token(of_one), kNow);
  ASSERT_TRUE(actor);
  EXPECT_EQ(actor->districts, std::set<std::string>{"tallowmere"});
}

TEST_F(OidcTokens, KeysAreReadAgainForAnUnknownOneAtMostOnceAMinute) {
  using std::chrono::seconds;
  json::object header = IdentityProvider::header(By::rsa);
  header["kid"] = "r2";
  const std::string later = provider->token(claims(), By::rsa, header);
  EXPECT_EQ(code_of(later), "unknown_key");
  EXPECT_EQ(code_of(later, kNow + seconds(59)), "unknown_key");
  EXPECT_EQ(reads_, 1);
  json::object renamed = provider->jwk(By::rsa);
  renamed["kid"] = "r2";
  jwks_ = json::serialize(json::object{{"keys", json::array{renamed}}});
  EXPECT_EQ(code_of(later, kNow + seconds(60)), "");
  EXPECT_EQ(reads_, 2);
  EXPECT_EQ(code_of(provider->token(claims()), kNow + seconds(61)), "unknown_key") << "withdrawn";
  EXPECT_EQ(reads_, 2);
}

TEST_F(OidcTokens, KeysThatCannotBeReadAreNotTheCallersFault) {
  jwks_.clear();
  const auto actor = oidc_.actor_of(provider->token(claims()), kNow);
  ASSERT_FALSE(actor);
  EXPECT_EQ(actor.error().code, "keys_unavailable");
  EXPECT_EQ(actor.error().kind, ErrorKind::failed);
  jwks_ = provider->jwks();
  EXPECT_EQ(code_of(provider->token(claims()), kNow + std::chrono::seconds(60)), "");
  jwks_.clear();
  json::object later = claims();
  later["exp"] = kNowS + 9000;
  EXPECT_EQ(code_of(provider->token(later), kNow + std::chrono::hours(2)), "") << "those that are known go on counting";
  EXPECT_EQ(reads_, 3);
}

// What the identity provider's web server says of its keys.
class KeyFetch : public ::testing::Test {
 protected:
  void SetUp() override {
    auto started = Server::start({.port = 0}, {[](const Request& request) -> Response {
                                   if (request.path == "/jwks") return {200, "application/json", R"({"keys":[]})", {}};
                                   if (request.path == "/moved") return {302, "", "", {{"Location", "/jwks"}}};
                                   if (request.path == "/endless")
                                     return {200, "application/json", std::string(3 << 20, ' '), {}};
                                   return {404, "text/plain", "none", {}};
                                 }});
    ASSERT_TRUE(started);
    server_ = *std::move(started);
  }
  Result<std::string> fetch(const std::string& path) {
    return fetch_keys("http://127.0.0.1:" + std::to_string(server_->port()) + path);
  }
  std::unique_ptr<Server> server_;
};

TEST_F(KeyFetch, TakesAGoodAnswerOnly) {
  const auto keys = fetch("/jwks");
  ASSERT_TRUE(keys) << keys.error().what;
  EXPECT_EQ(*keys, R"({"keys":[]})");
  for (const char* path : {"/moved", "/endless", "/none"}) {
    const auto refused = fetch(path);
    ASSERT_FALSE(refused) << path;
    EXPECT_EQ(refused.error().code, "unreadable") << path;
  }
}

TEST(KeyPlaces, AreEncryptedOrThisMachine) {
  for (const char* good :
       {"https://id.example/jwks", "http://127.0.0.1:8080/jwks", "http://[::1]:80/jwks", "http://localhost:1/"})
    EXPECT_EQ(wrong_url(good), "") << good;
  for (const char* wrong : {"http://id.example/jwks", "ftp://127.0.0.1/jwks", "http://127.0.0.1.id.example/jwks",
                            "http://127.0.0.1:80@id.example/jwks", "https://id.example@evil.example/jwks"})
    EXPECT_NE(wrong_url(wrong), "") << wrong;
}

TEST(KeySets, LeaveAsideWhatIsNotForUs) {
  const IdentityProvider provider;
  json::object for_secrecy = provider.jwk(By::rsa), for_another = provider.jwk(By::rsa);
  for_secrecy["use"] = "enc";
  for_another["alg"] = "RS512";
  const auto keys = [](const json::array& list) { return parse_keys(json::serialize(json::object{{"keys", list}}), "jwks"); };
  EXPECT_EQ(keys({for_secrecy, for_another, json::object{{"kty", "oct"}, {"k", "AAAA"}}}).error().code, "no_keys");
  EXPECT_EQ(keys({for_secrecy, provider.jwk(By::ec)})->size(), 1U);
  EXPECT_EQ(parse_keys("{}", "jwks").error().code, "no_keys");
  EXPECT_EQ(parse_keys("<html>", "jwks").error().code, "not_json");
}

TEST(KeySets, ThatAreBeingReadStallNobodyElse) {
  const IdentityProvider provider;
  const std::string known = text_member(provider.jwk(By::rsa), "kid");
  std::promise<void> asked, answered;
  int reads = 0;
  KeySet keys("jwks", [&]() -> Result<std::string> {
    if (++reads == 2) {
      asked.set_value();
      answered.get_future().wait();
    }
    return provider.jwks();
  });
  const auto code = [&](const std::string& id, int seconds) {
    const auto key = keys.find(id, PublicKey::Algorithm::rs256, kNow + std::chrono::seconds(seconds));
    return key ? std::string() : key.error().code;
  };
  EXPECT_EQ(code(known, 0), "");
  auto stalled = std::async(std::launch::async, [&] { return code("of nobody", 60); });
  asked.get_future().wait();
  EXPECT_EQ(code(known, 60), "");
  EXPECT_EQ(code("of another", 120), "keys_unavailable");
  answered.set_value();
  EXPECT_EQ(stalled.get(), "unknown_key");
  EXPECT_EQ(code("of another", 61), "unknown_key");
  EXPECT_EQ(reads, 2);
}

}  // namespace
}  // namespace hakea::service
