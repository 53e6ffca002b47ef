#include "service/access/tokens.h"

#include <gtest/gtest.h>

#include <regex>
#include <set>

#include "service/base/content_hash.h"
#include "tests/support/temp_dir.h"

namespace hakea::service {
namespace {

using std::chrono::hours;
using std::chrono::seconds;

constexpr UtcTime kNow{seconds(1'806'300'030)};

class Tokens : public ::testing::Test {
 protected:
  Tokens() : store_(*Store::open(folder_.path(), kNow)) {}

  std::string kept(Role role = Role::officer, std::vector<std::string> districts = {"north", "south"}) {
    Token wanted;
    wanted.name = "Crew room";
    wanted.role = role;
    wanted.districts = std::move(districts);
    wanted.expires_at = kNow + hours(24);
    auto made = new_token(wanted, kNow);
    EXPECT_TRUE(made);
    EXPECT_TRUE(store_->add_token({}, kNow, made->row));
    return made->text;
  }
  std::string code_of(std::string_view bearer, UtcTime now = kNow) {
    const auto actor = actor_of(*store_, bearer, now);
    return actor ? "" : actor.error().code;
  }

  test::TempDir folder_;
  std::unique_ptr<Store> store_;
};

// FIPS 180-2, appendix B.1.
TEST(Sha256, IsThePublishedOne) {
  EXPECT_EQ(content_hash("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

TEST_F(Tokens, HaveAnIdASecretOfThirtyTwoBytesAndAreAllDifferent) {
  std::set<std::string> seen;
  const std::regex shape("hakea_[a-z2-7]{8}_[A-Za-z0-9_-]{43}");
  for (int i = 0; i < 200; ++i) {
    Token wanted;
    wanted.name = "x";
    wanted.expires_at = kNow + hours(1);
    const auto made = new_token(wanted, kNow);
    ASSERT_TRUE(made);
    EXPECT_TRUE(std::regex_match(made->text, shape)) << made->text;
    // 43 letters are 258 bits: the two last are no part of the 256.
    EXPECT_NE(std::string("AEIMQUYcgkosw048").find(made->text.back()), std::string::npos) << made->text;
    seen.insert(made->text);
  }
  EXPECT_EQ(seen.size(), 200u);
}

TEST_F(Tokens, AreKeptAsAHashOfTheSecretOnly) {
  const std::string text = kept();
  const Token row = store_->tokens()->front();
  EXPECT_EQ(row.id, text.substr(6, 8));
  EXPECT_EQ(row.secret_hash, content_hash(text.substr(15)));
  const auto audit = store_->audit(0, 10);
  EXPECT_EQ(audit->front().after.find(row.secret_hash), std::string::npos);
}

TEST_F(Tokens, StandForAnActor) {
  const auto actor = actor_of(*store_, kept(), kNow);
  ASSERT_TRUE(actor);
  EXPECT_EQ(actor->name, "Crew room");
  EXPECT_EQ(actor->role, Role::officer);
  EXPECT_EQ(actor->districts, (std::set<std::string>{"north", "south"}));
  EXPECT_EQ(actor->token_id.size(), 8u);
}

TEST_F(Tokens, AreUnknownWhenOneLetterDiffersOrTheShapeIsAnother) {
  const std::string text = kept();
  for (const std::size_t at : {std::size_t(0), std::size_t(7), std::size_t(14), std::size_t(20), text.size() - 2}) {
    std::string other = text;
    other[at] = other[at] == 'x' ? 'y' : 'x';
    EXPECT_EQ(code_of(other), "unknown_token") << at;
  }
  for (const std::string& other :
       {std::string(), std::string("hakea_"), text + "A", text.substr(0, text.size() - 1), text.substr(6)})
    EXPECT_EQ(code_of(other), "unknown_token") << other;
  EXPECT_EQ(code_of(text), "");
}

TEST_F(Tokens, ExpireAtTheirInstantAndAreRevokedAtOnce) {
  const std::string text = kept();
  EXPECT_EQ(code_of(text, kNow + hours(24) - seconds(1)), "");
  EXPECT_EQ(code_of(text, kNow + hours(24)), "expired_token");
  EXPECT_TRUE(store_->revoke_token({}, kNow, text.substr(6, 8)));
  EXPECT_EQ(code_of(text), "revoked_token");
  std::string wrong = text;
  wrong[20] = wrong[20] == 'x' ? 'y' : 'x';
  EXPECT_EQ(code_of(wrong), "unknown_token") << "only the holder learns that it was revoked";
}

TEST_F(Tokens, NoteTheirUseToTheMinute) {
  const std::string text = kept();
  EXPECT_FALSE(store_->tokens()->front().last_used_at);
  EXPECT_EQ(code_of(text), "");
  EXPECT_EQ(store_->tokens()->front().last_used_at, kNow - seconds(30));
  EXPECT_EQ(code_of(text, kNow + seconds(29)), "");
  EXPECT_EQ(store_->tokens()->front().last_used_at, kNow - seconds(30));
  EXPECT_EQ(code_of(text, kNow + seconds(30)), "");
  EXPECT_EQ(store_->tokens()->front().last_used_at, kNow + seconds(30));
}

TEST(Roles, HaveWordsThatReadBack) {
  for (const Role role : {Role::viewer, Role::officer, Role::coordinator, Role::operator_}) EXPECT_EQ(role_of(word(role)), role);
  EXPECT_EQ(word(Role::operator_), "operator");
  EXPECT_EQ(role_of("Operator"), std::nullopt);
}

}  // namespace
}  // namespace hakea::service
