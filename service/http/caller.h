// Who calls, and whether they may.
#pragma once

#include <optional>
#include <variant>

#include "service/http/api.h"
#include "service/http/routes.h"

namespace hakea::service {

// The bearer of a token (ours, or one of the identity provider), a page by its cookie, in the demo whoever sits at the
// machine, anybody where that is configured; or why there is none: 401, or 429 after too many failures. For signing in and
// for the links of mails and calendars nobody has to be anybody.
std::variant<Actor, Response> caller_of(const ApiParts& parts, const Request& request, const Route& route, UtcTime now);

// The same where it is known without asking the store or the identity provider: who showed within this second what was taken,
// and who need show nothing.
std::optional<Actor> known_caller(const ApiParts& parts, const Request& request, UtcTime now);

// Why this caller may not call this route; nothing where they may. A page's writes must come from the page.
std::optional<Response> not_allowed(const ApiParts& parts, const Request& request, const Route& route, const Actor& actor);

// 429 for an address from which too many unknown tokens came.
Response too_many_failures(const Request& request);
// 401 with its challenge (RFC 6750 §3).
Response unauthorized(const Request& request, std::string code, std::string detail, std::string_view challenge);
// 403 with its challenge, for a caller that showed a token.
Response forbidden(const Request& request, const Actor& actor, std::string code, std::string detail, Scope scope);

// Whether a request comes from a page of ours: its Origin is ours, or without one the browser says so. `origin` is the
// configured one, empty: that of the Host header.
bool is_from_our_page(const Request& request, std::string_view origin);

}  // namespace hakea::service
