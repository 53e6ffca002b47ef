#include "service/access/tokens.h"

#include <fmt/format.h>

#include "service/access/secret.h"
#include "service/base/content_hash.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::string_view kPrefix = "hakea_";
constexpr std::size_t kIdLength = 8;
constexpr std::string_view kIdLetters = "abcdefghijklmnopqrstuvwxyz234567";  // 32, none alike

Error unknown() {
  return {ErrorKind::invalid, "unknown_token", "Authorization", "this token is not known",
          "use a token that was shown when it was made, whole"};
}

Errors mistakes_of(const Token& wanted, UtcTime now) {
  Errors mistakes;
  const auto refuse = [&](std::string code, std::string where, std::string what, std::string hint) {
    mistakes.push_back({ErrorKind::invalid, std::move(code), std::move(where), std::move(what), std::move(hint)});
  };
  if (wanted.name.find_first_not_of(" \t\r\n") == std::string::npos)
    refuse("required", "/name", "the token has no name", "say whom the token is for");
  if (wanted.scopes && wanted.scopes->empty())
    refuse("required", "/scopes", "a token without any scope may do nothing", "name some, or leave them out for all of the role");
  if (wanted.scopes)
    for (const Scope scope : *wanted.scopes)
      if (!scopes_of(wanted.role).contains(scope))
        refuse("beyond_the_role", "/scopes", fmt::format("{} is not for the role {}", word(scope), word(wanted.role)),
               "leave it out, or choose another role");
  if (wanted.expires_at <= now || wanted.expires_at > now + kTokenLivesAtMost)
    refuse("out_of_range", "/expires_at", fmt::format("it would be valid until {}", utc_text(wanted.expires_at)),
           fmt::format("choose a time after now, at most {} days ahead", kTokenLivesAtMost.count()));
  return mistakes;
}

}  // namespace

Result<NewToken> new_token(Token wanted, UtcTime now) {
  if (Errors mistakes = mistakes_of(wanted, now); !mistakes.empty()) return mistakes;
  const auto random = random_bytes(kIdLength);
  const auto secret = random ? new_secret() : random;
  if (!secret) return secret.errors();
  NewToken made;
  made.row = std::move(wanted);
  made.row.id.clear();
  for (const char byte : *random) made.row.id += kIdLetters[static_cast<unsigned char>(byte) % kIdLetters.size()];
  made.row.secret_hash = content_hash(*secret);
  made.row.created_at = now;
  made.row.last_used_at = made.row.revoked_at = std::nullopt;
  made.text = fmt::format("{}{}_{}", kPrefix, made.row.id, *secret);
  return made;
}

Result<Actor> actor_of(const Token& token, UtcTime now) {
  if (token.revoked_at)
    return Error{ErrorKind::invalid, "revoked_token", "token/" + token.id,
                 fmt::format("this token of {} was revoked at {}", token.name, utc_text(*token.revoked_at)),
                 "ask an operator for another"};
  if (now >= token.expires_at)
    return Error{ErrorKind::invalid, "expired_token", "token/" + token.id,
                 fmt::format("this token of {} expired at {}", token.name, utc_text(token.expires_at)),
                 "ask an operator for another"};
  Actor actor;
  actor.name = token.name;
  actor.token_id = token.id;
  actor.role = token.role;
  actor.scopes = token.scopes;
  actor.districts = {token.districts.begin(), token.districts.end()};
  actor.units = {token.units.begin(), token.units.end()};
  return actor;
}

Result<Actor> actor_of(Store& store, std::string_view bearer, UtcTime now) {
  if (!bearer.starts_with(kPrefix) || bearer.size() != kPrefix.size() + kIdLength + 1 + kSecretLength ||
      bearer[kPrefix.size() + kIdLength] != '_')
    return unknown();
  const auto token = store.token(bearer.substr(kPrefix.size(), kIdLength));
  if (!token) return token.errors();
  const std::string hash = content_hash(bearer.substr(bearer.size() - kSecretLength));
  const bool is_same = is_same_secret(*token ? (*token)->secret_hash : std::string(hash.size(), '0'), hash);
  if (!*token || !is_same) return unknown();
  auto actor = actor_of(**token, now);
  // A disk that cannot be written must not keep people from reading; it shows in the store's trouble.
  if (actor) (void)store.token_used(actor->token_id, now);
  return actor;
}

}  // namespace hakea::service
