#include "service/http/caller.h"

#include <algorithm>

#include "service/access/tokens.h"
#include "service/http/problem.h"

namespace hakea::service {
namespace {

// "127.0.0.1:8080", "[::1]:8080", "localhost": a name that can only mean this machine.
bool is_this_machine(std::string_view host) {
  if (host.starts_with('[')) return host.starts_with("[::1]");
  const std::string_view name = host.substr(0, host.find(':'));
  return name == "localhost" || name.starts_with("127.");
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

Response unauthorized(const Request& request, std::string code, std::string detail, std::string challenge) {
  Response answer = problem_response({401, std::move(code), "Say who you are", std::move(detail), {}}, request.request_id);
  answer.headers.emplace_back("WWW-Authenticate", "Bearer realm=\"hakea\"" + challenge);
  return answer;
}

}  // namespace

std::variant<Actor, Response> caller_of(const ApiParts& parts, const Request& request, UtcTime now) {
  const std::string_view authorization = request.header("authorization");
  if (authorization.empty()) {
    if (parts.is_demo && sits_at_the_machine(request))
      return Actor{"coordinator", "", request.address, request.request_id, Role::coordinator, {}};
    return unauthorized(request, "no_actor", "send a token: Authorization: Bearer hakea_…", "");
  }
  if (parts.failed_callers->is_refused(request.address, now)) {
    Response answer = problem_response(
        {429, "too_many_failures", "Too many tokens were refused", "wait a minute, then call with a token that is known", {}},
        request.request_id);
    answer.headers.emplace_back("Retry-After", "60");
    return answer;
  }
  constexpr std::string_view kScheme = "bearer ";
  std::string scheme(authorization.substr(0, kScheme.size()));
  std::transform(scheme.begin(), scheme.end(), scheme.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  if (scheme != kScheme)
    return unauthorized(request, "no_actor", "the Authorization header must read: Bearer hakea_…", ", error=\"invalid_request\"");
  auto actor = actor_of(*parts.store, authorization.substr(kScheme.size()), now);
  if (!actor && actor.error().kind == ErrorKind::failed)  // not the caller's doing
    return problem_response({503, actor.error().code, "Tokens cannot be looked up", actor.error().what, {}}, request.request_id);
  if (!actor) {
    parts.failed_callers->add(request.address, now);
    return unauthorized(request, actor.error().code, actor.error().what, ", error=\"invalid_token\"");
  }
  actor->address = request.address;
  actor->request_id = request.request_id;
  return *std::move(actor);
}

}  // namespace hakea::service
