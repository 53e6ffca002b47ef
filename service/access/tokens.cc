#include "service/access/tokens.h"

#include <fmt/format.h>
#include <openssl/crypto.h>
#include <openssl/rand.h>

#include <array>

#include "service/base/content_hash.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::string_view kPrefix = "hakea_";
constexpr std::size_t kIdLength = 8, kSecretBytes = 32, kSecretLength = 43;
constexpr std::string_view kIdLetters = "abcdefghijklmnopqrstuvwxyz234567";  // 32, none alike
constexpr std::string_view kBase64Url = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

// RFC 4648 section 5, without padding.
std::string base64url(std::basic_string_view<unsigned char> bytes) {
  std::string text;
  unsigned bits = 0;
  int held = 0;
  for (const unsigned char byte : bytes) {
    bits = bits << 8 | byte;
    for (held += 8; held >= 6; held -= 6) text += kBase64Url[bits >> (held - 6) & 63U];
  }
  if (held > 0) text += kBase64Url[bits << (6 - held) & 63U];
  return text;
}

Error unknown() {
  return {ErrorKind::invalid, "unknown_token", "Authorization", "this token is not known",
          "use a token that `hakea token create` showed, whole"};
}

}  // namespace

Result<NewToken> new_token(std::string name, Role role, std::vector<std::string> districts, UtcTime now, UtcTime expires_at) {
  std::array<unsigned char, kIdLength + kSecretBytes> random{};
  if (RAND_bytes(random.data(), static_cast<int>(random.size())) != 1)
    return Error{ErrorKind::failed, "no_random", "token", "the operating system gives no random bytes", "try again"};
  std::string id;
  for (std::size_t i = 0; i < kIdLength; ++i) id += kIdLetters[random[i] % kIdLetters.size()];
  const std::string secret = base64url({random.data() + kIdLength, kSecretBytes});
  NewToken made;
  made.text = fmt::format("{}{}_{}", kPrefix, id, secret);
  made.row = {id, std::move(name), content_hash(secret), role, std::move(districts), now, expires_at, std::nullopt, std::nullopt};
  return made;
}

Result<Actor> actor_of(Store& store, std::string_view bearer, UtcTime now) {
  if (!bearer.starts_with(kPrefix) || bearer.size() != kPrefix.size() + kIdLength + 1 + kSecretLength ||
      bearer[kPrefix.size() + kIdLength] != '_')
    return unknown();
  const auto token = store.token(bearer.substr(kPrefix.size(), kIdLength));
  if (!token) return token.errors();
  const std::string hash = content_hash(bearer.substr(bearer.size() - kSecretLength));
  const std::string& kept = *token ? (*token)->secret_hash : std::string(hash.size(), '0');
  const bool is_same = kept.size() == hash.size() && CRYPTO_memcmp(kept.data(), hash.data(), hash.size()) == 0;
  if (!*token || !is_same) return unknown();
  const Token& row = **token;
  if (row.revoked_at)
    return Error{ErrorKind::invalid, "revoked_token", "token/" + row.id,
                 fmt::format("this token of {} was revoked at {}", row.name, utc_text(*row.revoked_at)),
                 "ask an operator for another"};
  if (now >= row.expires_at)
    return Error{ErrorKind::invalid, "expired_token", "token/" + row.id,
                 fmt::format("this token of {} expired at {}", row.name, utc_text(row.expires_at)),
                 "ask an operator for another"};
  // A disk that cannot be written must not keep people from reading; it shows in the store's trouble.
  (void)store.token_used(row.id, now);
  Actor actor;
  actor.name = row.name;
  actor.token_id = row.id;
  actor.role = row.role;
  actor.districts = {row.districts.begin(), row.districts.end()};
  return actor;
}

}  // namespace hakea::service
