// API tokens: `hakea_<id, 8 characters>_<secret, 43 characters of base64url for 32 random bytes>`. The store keeps the
// SHA-256 of the secret, which is enough for a random value of this size (slow hashes are for passwords). Shown once.
#pragma once

#include <string>
#include <string_view>

#include "core/base/result.h"
#include "service/access/actor.h"
#include "service/store/store.h"

namespace hakea::service {

inline constexpr std::chrono::days kTokenLivesAtMost{366}, kTokenLivesUsually{90};

struct NewToken {
  Token row;         // for Store::add_token
  std::string text;  // to be shown once and kept nowhere
};

// A token as it is wanted: name, role, scopes, districts, units and expiry; the rest is given to it. All mistakes, `where` the
// member's pointer: `required`, `beyond_the_role`, `out_of_range`. Error also: `no_random`.
Result<NewToken> new_token(Token wanted, UtcTime now);

// What a token of the store stands for, without address and request id. Errors: `expired_token`, `revoked_token`.
Result<Actor> actor_of(const Token& token, UtcTime now);

// Who a bearer's text stands for. Notes the use. Errors also: `unknown_token` (also for text of another shape and a wrong
// secret, so that ids cannot be tried out), and what the store says.
Result<Actor> actor_of(Store& store, std::string_view bearer, UtcTime now);

}  // namespace hakea::service
