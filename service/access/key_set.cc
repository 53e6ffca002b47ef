#include "service/access/key_set.h"

#include <fmt/format.h>

#include "service/access/base64url.h"
#include "service/base/log.h"
#include "service/input/json.h"

namespace hakea::service {
namespace {

constexpr std::chrono::minutes kReadAtMostEvery{1};
constexpr std::chrono::hours kReadAtLeastEvery{1};  // our own default

std::optional<PublicKey> key_of(const json::value& jwk) {
  const std::string kind = text_member(jwk, "kty"), use = text_member(jwk, "use"), named = text_member(jwk, "alg");
  if (!use.empty() && use != "sig") return std::nullopt;
  const auto bytes = [&](std::string_view member) { return from_base64url(text_member(jwk, member)).value_or(""); };
  std::optional<PublicKey> key;
  if (kind == "RSA") key = PublicKey::rsa(bytes("n"), bytes("e"));
  if (kind == "EC" && text_member(jwk, "crv") == "P-256") key = PublicKey::p256(bytes("x"), bytes("y"));
  // A key that is meant for another algorithm is not used for ours.
  if (key && !named.empty() && PublicKey::algorithm_of(named) != key->algorithm()) return std::nullopt;
  return key;
}

}  // namespace

Result<std::vector<NamedKey>> parse_keys(std::string_view jwks, const std::string& name) {
  const auto document = parse_json(jwks, name);
  if (!document) return document.errors();
  const auto* object = document->if_object();
  const json::value* list = object ? object->if_contains("keys") : nullptr;
  std::vector<NamedKey> keys;
  if (list && list->is_array())
    for (const json::value& jwk : list->get_array())
      if (auto key = key_of(jwk)) keys.push_back({text_member(jwk, "kid"), *std::move(key)});
  if (keys.empty())
    return Error{ErrorKind::invalid, "no_keys", name, "there is no key for RS256 or ES256 in it",
                 R"(write {"keys":[…]} with RSA keys of at least 2048 bits or EC keys on P-256)"};
  return keys;
}

const PublicKey* KeySet::among_known(std::string_view id, PublicKey::Algorithm algorithm) const {
  const PublicKey* found = nullptr;
  for (const NamedKey& named : keys_) {
    if (named.key.algorithm() != algorithm || (!id.empty() && named.id != id)) continue;
    if (found) return nullptr;  // which one is meant is not said
    found = &named.key;
  }
  return found;
}

Result<std::vector<NamedKey>> KeySet::read() const {
  const auto text = read_();
  return text ? parse_keys(*text, name_) : Result<std::vector<NamedKey>>(text.errors());
}

Result<PublicKey> KeySet::find(std::string_view id, PublicKey::Algorithm algorithm, UtcTime now) {
  std::unique_lock hold(lock_);
  const bool may_try = !is_being_read_ && (!tried_at_ || now >= *tried_at_ + kReadAtMostEvery);
  const bool is_old = !read_at_ || now >= *read_at_ + kReadAtLeastEvery;
  if (may_try && (is_old || !among_known(id, algorithm))) {
    tried_at_ = now;
    is_being_read_ = true;
    hold.unlock();
    auto keys = read();
    hold.lock();
    is_being_read_ = false;
    failure_ = keys ? Errors() : keys.errors();
    if (keys) {
      keys_ = *std::move(keys);
      read_at_ = now;
    } else {
      log_errors("the keys of the identity provider", failure_);  // those that are known go on counting
    }
  }
  if (const PublicKey* key = among_known(id, algorithm)) return *key;
  if (is_being_read_ || !failure_.empty())
    return Error{ErrorKind::failed, "keys_unavailable", name_, "the keys of the identity provider cannot be read",
                 "try again in a minute"};
  return Error{ErrorKind::invalid, "unknown_key", name_, "the token is signed by a key that is not known here",
               "sign in again at the identity provider"};
}

}  // namespace hakea::service
