// Access tokens of an identity provider: signed JSON (RFC 7515, 7519) in the profile of RFC 9068. We are a resource server only.
#pragma once

#include <string_view>

#include "core/base/result.h"
#include "core/base/time.h"
#include "service/access/actor.h"
#include "service/access/key_set.h"
#include "service/access/settings.h"

namespace hakea::service {

inline constexpr std::string_view kOidcPrefix = "oidc:";  // of the token_id of those whom it knows

class Oidc {
 public:
  Oidc(OidcSettings settings, KeySet::Read read_keys);

  // Who a token stands for, without address and request id. Errors: `invalid_jwt`, `unknown_key`, `expired_token` (all of them
  // the token's), `no_role` and `no_district` (a known person who is nobody here; their kind is `unsupported`),
  // `keys_unavailable`.
  Result<Actor> actor_of(std::string_view jwt, UtcTime now);

 private:
  const OidcSettings settings_;
  KeySet keys_;
};

}  // namespace hakea::service
