#include "service/access/page_session.h"

#include <algorithm>

#include "service/access/secret.h"
#include "service/access/tokens.h"
#include "service/base/content_hash.h"

namespace hakea::service {
namespace {

Error none() {
  return {ErrorKind::invalid, "no_session", "Cookie", "there is no such session, or it has ended", "sign in again"};
}

}  // namespace

Result<NewSession> open_session(Store& store, const Actor& actor, UtcTime now) {
  const auto secret = new_secret();
  if (!secret) return secret.errors();
  NewSession made{{content_hash(*secret), actor.token_id, now, now}, *secret};
  if (const auto kept = store.add_session(actor, made.row, now - kSessionLivesAtMost); !kept) return kept.errors();
  return made;
}

Result<Actor> actor_of_session(Store& store, std::string_view cookie, UtcTime now) {
  if (cookie.size() != kSecretLength) return none();
  // A hash of 256 random bits is looked up, not compared: how long that takes tells nothing of the bits.
  const auto session = store.session(content_hash(cookie));
  if (!session) return session.errors();
  if (!*session || now >= (*session)->began_at + kSessionLivesAtMost || now >= (*session)->seen_at + kSessionIdleAtMost)
    return none();
  const auto token = store.token((*session)->token_id);
  if (!token) return token.errors();
  if (!*token) return none();
  auto actor = actor_of(**token, now);
  if (!actor) return actor;
  actor->session = (*session)->id_hash;
  // A disk that cannot be written must not keep people from reading.
  (void)store.session_seen((*session)->id_hash, now);
  return actor;
}

std::string_view cookie_in(std::string_view header, std::string_view name) {
  while (!header.empty()) {
    const std::size_t end = header.find(';');
    std::string_view pair = header.substr(0, end);
    pair.remove_prefix(std::min(pair.find_first_not_of(' '), pair.size()));
    if (pair.starts_with(name) && pair.substr(name.size()).starts_with('=')) return pair.substr(name.size() + 1);
    header.remove_prefix(end == std::string_view::npos ? header.size() : end + 1);
  }
  return {};
}

}  // namespace hakea::service
