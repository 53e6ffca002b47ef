// Page sessions: a page signs in with a token once and then shows a cookie. The cookie holds 256 random bits, which the store
// keeps as a hash; who it is stands in the token's row, so that a token that is revoked or expires ends its sessions.
#pragma once

#include <string>
#include <string_view>

#include "core/base/result.h"
#include "service/access/actor.h"
#include "service/store/store.h"

namespace hakea::service {

inline constexpr std::string_view kSessionCookie = "__Host-session";
// Our own defaults.
inline constexpr std::chrono::hours kSessionLivesAtMost{12};
inline constexpr std::chrono::minutes kSessionIdleAtMost{60};

struct NewSession {
  PageSession row;
  std::string cookie;  // to be shown once and kept nowhere
};

// Opens a session for the actor of a token. Errors: `no_random` and what the store says.
Result<NewSession> open_session(Store& store, const Actor& actor, UtcTime now);

// Who a cookie stands for, without address and request id. Notes the use. Errors: `no_session` (unknown, too old or idle), as
// actor_of() of its token, and what the store says.
Result<Actor> actor_of_session(Store& store, std::string_view cookie, UtcTime now);

// The value of a cookie among those of a Cookie header; empty without it.
std::string_view cookie_in(std::string_view header, std::string_view name);

}  // namespace hakea::service
