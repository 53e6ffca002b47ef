// API tokens: `hakea_<id, 8 characters>_<secret, 43 characters of base64url for 32 random bytes>`. The store keeps the
// SHA-256 of the secret, which is enough for a random value of this size (slow hashes are for passwords). Shown once.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/base/result.h"
#include "service/access/actor.h"
#include "service/store/store.h"

namespace hakea::service {

struct NewToken {
  Token row;         // for Store::add_token
  std::string text;  // to be shown once and kept nowhere
};

// From the operating system's random source, by OpenSSL. Error: `no_random`.
Result<NewToken> new_token(std::string name, Role role, std::vector<std::string> districts, UtcTime now, UtcTime expires_at);

// Who a bearer's text stands for, without address and request id. Notes the use. Errors: `unknown_token` (also for text of
// another shape and a wrong secret, so that ids cannot be tried out), `expired_token`, `revoked_token`.
Result<Actor> actor_of(Store& store, std::string_view bearer, UtcTime now);

}  // namespace hakea::service
