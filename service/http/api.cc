// From a request to its route: what must hold of every call is asked here, once.
#include "service/http/api.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/nearest.h"
#include "core/base/words.h"
#include "service/access/secret.h"
#include "service/http/accept.h"
#include "service/http/caller.h"
#include "service/http/routes.h"

namespace hakea::service {
namespace {

Response refused(const Request& request, const Problem& problem) { return problem_response(problem, request.request_id); }

// Nothing when every query parameter is known and stands there once.
std::optional<Problem> wrong_query(const Route& route, const Request& request) {
  Errors errors;
  std::set<std::string_view> seen;
  const std::vector<std::string_view> known = words(route.query);
  for (const auto& [name, value] : request.query) {
    if (std::find(known.begin(), known.end(), name) == known.end()) {
      const std::string_view near = nearest(name, known);
      std::string hint = known.empty() ? "this path has no parameters" : fmt::format("known here: {}", fmt::join(known, ", "));
      if (!near.empty()) hint = fmt::format("did you mean \"{}\"? {}", near, hint);
      errors.push_back(
          {ErrorKind::invalid, "unknown_parameter", "?" + name, fmt::format("the parameter \"{}\" is not known", name), hint});
    } else if (!seen.insert(name).second) {
      errors.push_back({ErrorKind::invalid, "repeated_parameter", "?" + name, fmt::format("{} is given more than once", name),
                        "give it once, several values separated by commas where it takes them"});
    }
  }
  if (errors.empty()) return std::nullopt;
  return mistakes_of_query(errors);
}

// JSON, in any of its types. A form's type passes too: it is what curl and others say of any body when told nothing.
bool is_json(std::string_view content_type) {
  const std::string_view type = content_type.substr(0, content_type.find_first_of("; "));
  return type.empty() || type == "application/json" || type == "application/x-www-form-urlencoded" ||
         type == "multipart/form-data" ||  // of a mail reader that unsubscribes (RFC 8058 section 3.2)
         (type.starts_with("application/") && type.ends_with("+json"));
}

Response answered(const ApiParts& parts, const Request& request, CallNote& note) {
  const FoundRoute found = find_route(request.method, request.path);
  if (found.methods.empty())
    return refused(request, {404, "not_found", "There is no such thing", fmt::format("nothing stands at {}", request.path), {}});
  if (!found.route) {
    Response answer = refused(request, {405,
                                        "method",
                                        "This path does not take that method",
                                        fmt::format("{} takes {}", request.path, fmt::join(found.methods, ", ")),
                                        {}});
    answer.headers.emplace_back("Allow", fmt::format("{}", fmt::join(found.methods, ", ")));
    return answer;
  }
  const Route& route = *found.route;
  note.route = route.path;
  const UtcTime now = parts.clock->now();
  auto caller = caller_of(parts, request, route, now);
  if (auto* nobody = std::get_if<Response>(&caller)) return *std::move(nobody);
  Actor& actor = std::get<Actor>(caller);
  note.actor = actor.name;
  if (auto no = not_allowed(parts, request, route, actor)) return *std::move(no);
  if (auto wrong = wrong_query(route, request)) return refused(request, *wrong);
  const auto type = best_type(request.header("accept"), route.types);
  if (!type)
    return refused(request, {406,
                             "not_acceptable",
                             "It does not come in that form",
                             fmt::format("it comes as {}", fmt::join(words(route.types), ", ")),
                             {}});
  if (!request.body.empty() && !is_json(request.header("content-type")))
    return refused(request, {415,
                             "media_type",
                             "The body is of a type that is not read",
                             fmt::format("it is {}; send application/json", request.header("content-type")),
                             {}});
  const Call call{parts, request, now, parts.engine->snapshot(), found.ids, *type, std::move(actor)};
  return route.answer(call);
}

}  // namespace

bool takes_long(const Request& request) {
  const FoundRoute found = find_route(request.method, request.path);
  return found.route && found.route->is_long;
}

Response respond(const ApiParts& parts, const Request& request, CallNote* note) {
  Response answer;
  CallNote own;
  try {
    answer = answered(parts, request, note ? *note : own);
  } catch (const std::exception& mistake) {
    answer = refused(request, {500, "internal", "Something went wrong on our side", mistake.what(), {}});
  }
  if (answer.content_type == "application/problem+json") answer.body = without_secrets(answer.body);
  // Answers change with every run and entry, and say so themselves.
  answer.headers.emplace_back("Cache-Control",
                              request.method == "GET" || request.method == "HEAD" ? "private, no-cache" : "no-store");
  answer.headers.emplace_back("Vary", "Accept, Authorization, Cookie");
  return answer;
}

}  // namespace hakea::service
