#include "service/http/caller.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/words.h"
#include "service/access/page_session.h"
#include "service/access/tokens.h"
#include "service/http/accept.h"
#include "service/http/problem.h"

namespace hakea::service {
namespace {

// "127.0.0.1:8080", "[::1]:8080", "localhost": a name that can only mean this machine. One such as 127.example is anybody's.
bool is_this_machine(std::string_view host) {
  const std::size_t end = host.starts_with('[') ? host.find(']') + 1 : std::min(host.find(':'), host.size());
  const std::string_view name = host.substr(0, end), port = host.substr(end);
  const bool is_port = port.empty() || (port.starts_with(':') && port.find_first_not_of("0123456789", 1) == port.npos);
  const bool is_number = name.starts_with("127.") && name.find_first_not_of("0123456789.") == name.npos;
  return is_port && (name == "localhost" || name == "[::1]" || is_number);
}

// The demo trusts everybody at its own machine. A page of another site in that machine's browser is not at the machine: it
// shows by its Origin, or by a Host that was made to point here; nor is what a proxy hands on.
bool sits_at_the_machine(const Request& request) {
  if (!request.is_loopback) return false;
  if (!request.header("forwarded").empty() || !request.header("x-forwarded-for").empty()) return false;
  const std::string_view host = request.header("host"), origin = request.header("origin");
  if (!host.empty() && !is_this_machine(host)) return false;
  if (origin.empty()) return true;
  const std::size_t scheme = origin.find("://");
  return scheme != std::string_view::npos && is_this_machine(origin.substr(scheme + 3));
}

bool is_unsafe(const Request& request) { return request.method != "GET" && request.method != "HEAD"; }

Actor without_name(std::string name, Role role, const Request& request) {
  Actor actor;
  actor.name = std::move(name);
  actor.role = role;
  actor.address = request.address;
  actor.request_id = request.request_id;
  return actor;
}

// Who need not show anything: the demo's caller, and anybody where that is configured.
std::optional<Actor> unasked(const ApiParts& parts, const Request& request) {
  if (parts.is_demo && sits_at_the_machine(request)) return without_name("coordinator", Role::coordinator, request);
  if (parts.config->access.anonymous_read && !is_unsafe(request)) return without_name("anonymous", Role::viewer, request);
  return std::nullopt;
}

KnownCallers::Shown shown_by(const Request& request) {
  const std::string_view authorization = request.header("authorization");
  if (!authorization.empty()) return {authorization};
  return {cookie_in(request.header("cookie"), kSessionCookie), true};
}

// Who a token stands for, ours or one of the identity provider.
Result<Actor> actor_of_bearer(const ApiParts& parts, std::string_view bearer, UtcTime now) {
  if (parts.oidc && !bearer.starts_with("hakea_")) return parts.oidc->actor_of(bearer, now);
  return actor_of(*parts.store, bearer, now);
}

// What a caller showed did not hold.
Response not_taken(const ApiParts& parts, const Request& request, const Error& error, UtcTime now) {
  if (error.kind == ErrorKind::failed)  // not the caller's doing
    return problem_response({503, error.code, "Tokens cannot be looked up", error.what, {}}, request.request_id);
  if (error.kind == ErrorKind::unsupported)  // they are known, and are nobody here
    return forbidden(request, {.name = "", .token_id = "oidc", .address = "", .request_id = ""}, error.code, error.what,
                     Scope::read);
  // Who shows what was good once is not guessing.
  if (error.code == "expired_token" || error.code == "revoked_token" || parts.failed_callers->add(request.address, now))
    return unauthorized(request, error.code, error.what, ", error=\"invalid_token\"");
  return too_many_failures(request);
}

}  // namespace

Response too_many_failures(const Request& request) {
  Response answer = problem_response(
      {429, "too_many_failures", "Too many tokens were refused", "call with a token that is known, or wait a minute", {}},
      request.request_id);
  answer.headers.emplace_back("Retry-After", "60");
  return answer;
}

Response unauthorized(const Request& request, std::string code, std::string detail, std::string_view challenge) {
  Response answer = problem_response({401, std::move(code), "Say who you are", std::move(detail), {}}, request.request_id);
  answer.headers.emplace_back("WWW-Authenticate", fmt::format("Bearer realm=\"hakea\"{}", challenge));
  return answer;
}

Response forbidden(const Request& request, const Actor& actor, std::string code, std::string detail, Scope scope) {
  Response answer =
      problem_response({403, std::move(code), "Your role may not do this", std::move(detail), {}}, request.request_id);
  if (!actor.token_id.empty())
    answer.headers.emplace_back("WWW-Authenticate",
                                fmt::format("Bearer realm=\"hakea\", error=\"insufficient_scope\", scope=\"{}\"", word(scope)));
  return answer;
}

bool is_from_our_page(const Request& request, std::string_view ours) {
  const std::string_view origin = request.header("origin"), host = request.header("host");
  if (origin.empty()) return request.header("sec-fetch-site") == "same-origin";
  if (!ours.empty()) return origin == ours;
  return !host.empty() && (origin == fmt::format("https://{}", host) || origin == fmt::format("http://{}", host));
}

std::variant<Actor, Response> caller_of(const ApiParts& parts, const Request& request, const Route& route, UtcTime now) {
  // What tells how to call is for anybody, signing in is how somebody says who they are, who holds the link of a mail got the
  // mail, and who holds that of a calendar was given it.
  if (route.path == "/openapi.json" || route.path == "/unsubscribe/{id}" || is_link(route.path) ||
      (route.path == "/session" && request.method == "POST"))
    return without_name("", Role::viewer, request);
  const auto shown = shown_by(request);
  const std::uint64_t endings = parts.callers->endings();
  std::optional<Result<Actor>> actor;
  if (!shown.empty() && !shown.is_cookie) {
    constexpr std::string_view kScheme = "bearer ";
    if (lower(shown.text.substr(0, kScheme.size())) != kScheme)
      return unauthorized(request, "no_actor", "the Authorization header must read: Bearer hakea_…", "");
    actor = actor_of_bearer(parts, shown.text.substr(kScheme.size()), now);
    if (!*actor) {
      parts.callers->forget(shown);
      return not_taken(parts, request, actor->error(), now);
    }
  } else if (!shown.empty()) {
    actor = actor_of_session(*parts.store, shown.text, now);
    if (!*actor) parts.callers->forget(shown);
    // A session that has ended leaves somebody who is not signed in.
    if (!*actor && actor->error().kind == ErrorKind::failed) return not_taken(parts, request, actor->error(), now);
  }
  if (actor && *actor) {
    parts.callers->keep(shown, **actor, now, endings);
    (*actor)->address = request.address;
    (*actor)->request_id = request.request_id;
    return **std::move(actor);
  }
  if (auto anybody = unasked(parts, request)) return *std::move(anybody);
  if (actor) return unauthorized(request, actor->error().code, actor->error().what, "");
  return unauthorized(request, "no_actor", "send a token: Authorization: Bearer hakea_…", "");
}

std::optional<Actor> known_caller(const ApiParts& parts, const Request& request, UtcTime now) {
  const auto shown = shown_by(request);
  if (shown.empty()) return unasked(parts, request);
  auto actor = parts.callers->find(shown, now);
  if (!actor) return std::nullopt;
  actor->address = request.address;
  actor->request_id = request.request_id;
  return actor;
}

std::optional<Response> not_allowed(const ApiParts& parts, const Request& request, const Route& route, const Actor& actor) {
  if (actor.session && is_unsafe(request)) {
    if (!is_from_our_page(request, parts.config->access.origin))
      return problem_response({403,
                               "foreign_page",
                               "This does not come from a page of ours",
                               "a session's writes need an Origin that is ours, or Sec-Fetch-Site: same-origin",
                               {}},
                              request.request_id);
    if (type_alone(request.header("content-type")) != "application/json")
      return problem_response({403,
                               "foreign_page",
                               "This does not come from a page of ours",
                               "a session's writes need Content-Type: application/json",
                               {}},
                              request.request_id);
  }
  const Scope scope = scope_of_operation(route.method, route.path, route.least);
  if (actor.role < route.least)
    return forbidden(request, actor, "role",
                     fmt::format("it takes the role {}; this caller's is {}", word(route.least), word(actor.role)), scope);
  if (!actor.may(scope))
    return forbidden(request, actor, "scope",
                     actor.scopes
                         ? fmt::format("it takes the scope {}, which this token does not have", word(scope))
                         : fmt::format("it takes the scope {}, which the role {} does not have", word(scope), word(actor.role)),
                     scope);
  return std::nullopt;
}

}  // namespace hakea::service
