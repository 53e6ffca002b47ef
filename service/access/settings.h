// How callers prove who they are, as the configuration has it.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "service/access/scopes.h"

namespace hakea::service {

// Access tokens of an identity provider (RFC 9068). We take them and are no client of it.
struct OidcSettings {
  std::string issuer;    // `iss`, exactly
  std::string audience;  // stands in `aud`
  std::string keys;      // its JWKS (RFC 7517): a file, or a URL
  std::string role_claim = "roles";
  std::map<std::string, Role> roles;  // from what stands in the claim
  std::string name_claim = "sub";
  std::string districts_claim, units_claim;  // lists of ids; empty: not narrowed
};

struct AccessSettings {
  bool anonymous_read = false;  // everybody reads as a viewer
  std::string origin;           // of our pages, such as https://burns.example; empty: as the Host header has it
  std::optional<OidcSettings> oidc;
};

}  // namespace hakea::service
