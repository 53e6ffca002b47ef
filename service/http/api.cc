// From a request to its route: what must hold of every call is asked here, once.
#include "service/http/api.h"

#include <fmt/format.h>
#include <spdlog/spdlog.h>

#include <algorithm>

#include "core/base/nearest.h"
#include "core/base/words.h"
#include "service/access/secret.h"
#include "service/http/accept.h"
#include "service/http/caller.h"
#include "service/http/compression.h"
#include "service/http/conditional.h"
#include "service/http/cors.h"
#include "service/http/head.h"
#include "service/http/idempotency.h"
#include "service/http/kept_file.h"
#include "service/http/page.h"
#include "service/http/problem_pages.h"
#include "service/http/routes.h"
#include "service/input/config.h"
#include "service/ogc/door.h"

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
    } else if (name == "tz" && value != "unit" && value != "utc") {
      errors.push_back({ErrorKind::invalid, "unknown_word", "?tz", fmt::format("there is no tz \"{}\"", value),
                        "write unit for the unit's local times, or utc"});
    }
  }
  if (errors.empty()) return std::nullopt;
  return mistakes_of_query(errors);
}

// JSON, in any of its types. A form's type passes too: it is what curl and others say of any body when told nothing.
bool is_json(std::string_view content_type) {
  const std::string_view type = type_alone(content_type);
  return type.empty() || type == "application/json" || type == "application/x-www-form-urlencoded" ||
         type == "multipart/form-data" ||  // of a mail reader that unsubscribes (RFC 8058 section 3.2)
         (type.starts_with("application/") && type.ends_with("+json"));
}

const ApiSettings& settings_of(const ApiParts& parts) {
  static const ApiSettings kUsual;
  return parts.config ? parts.config->api : kUsual;
}

bool is_reading(const Request& request) { return request.method == "GET" || request.method == "HEAD"; }

bool is_below_problems(std::string_view path) {
  return path.starts_with(kProblemRoot) && (path.size() == kProblemRoot.size() || path[kProblemRoot.size()] == '/');
}

// The same answer, compressed; itself where that is not worth it.
Response compressed(const Request& request, Response answer) {
  if (!takes_gzip(request.header("accept-encoding")) || !is_worth_compressing(request, answer)) return answer;
  std::string packed = gzip(answer.bytes());
  if (packed.empty()) return answer;
  answer.body = std::move(packed);
  answer.kept = nullptr;
  answer.headers.emplace_back("Content-Encoding", "gzip");
  if (const std::string_view tag = answer.header("ETag"); !tag.empty()) answer.set_header("ETag", compressed_tag(tag));
  return answer;
}

std::string_view caching_of(const Route& route) {
  return route.rests_on == RestsOn::weather ? "private, max-age=60, stale-if-error=3600" : "private, no-cache";
}

Response unchanged(const Route& route, std::string_view tag) {
  return {304, "", "", {{"ETag", std::string(tag)}, {"Cache-Control", std::string(caching_of(route))}}};
}

// Under which an answer is kept.
std::string key_of(const Call& call, const Rests& rests) {
  std::string key = rests.asked;
  ((key += '\n') += rests.state) += takes_gzip(call.request.header("accept-encoding")) ? "\ngzip" : "";
  return key;
}

// What the caller has already, or what is kept, as it was written or, `to_be_sent`, with its fields as text; nothing where it is
// to be written.
std::optional<Response> at_hand(const Call& call, const Route& route, const Rests& rests, bool to_be_sent) {
  const std::string_view known_to_caller = call.request.header("if-none-match");
  if (!known_to_caller.empty())
    if (const auto tag = known_tag(known_to_caller, rests.tag(), takes_gzip(call.request.header("accept-encoding"))))
      return unchanged(route, *tag);
  const std::shared_ptr<const KnownAnswer> known = call.parts.answers->find(key_of(call, rests));
  if (!known) return std::nullopt;
  const std::string_view tag = known->answer.header("ETag");
  if (names_tag(known_to_caller, tag)) return unchanged(route, tag);
  if (!to_be_sent) return known->answer;
  Response sent{known->answer.status, "", "", {}};
  sent.kept = known->answer.kept;
  sent.kept_file = known->file;
  sent.kept_fields = known->fields;
  return sent;
}

// The answer to GET and HEAD: nothing is written where the caller has it already, and written once where it is kept.
Response read(const Call& call, const Route& route) {
  const auto rests = rests_on(call, route.rests_on);
  if (!rests) return call.store_failed(rests.error());
  if (!*rests) return route.answer(call);
  if (auto known = at_hand(call, route, **rests, false)) return *std::move(known);
  Response fresh = route.answer(call);
  if (fresh.status != 200) return fresh;
  fresh.set_header("ETag", tag_of(fresh.header("ETag"), (*rests)->tag()));
  fresh.set_header("Cache-Control", std::string(caching_of(route)));
  fresh = compressed(call.request, std::move(fresh));
  fresh.kept = std::make_shared<const std::string>(std::move(fresh.body));
  fresh.body.clear();
  std::string fields;
  write_fields(fields, fresh);
  auto known = std::make_shared<const KnownAnswer>(fresh, std::make_shared<const std::string>(std::move(fields)),
                                                   KeptFile::of(fresh.bytes()));
  call.parts.answers->keep(call.picture->number, key_of(call, **rests), std::move(known),
                           settings_of(call.parts).kept_answers_bytes);
  if (names_tag(call.request.header("if-none-match"), fresh.header("ETag"))) return unchanged(route, fresh.header("ETag"));
  return fresh;
}

// Counts a request of a token, or of an address without one. The answer that refuses it where it is one too many.
std::optional<Response> counted_request(const ApiParts& parts, const Request& request, const std::string& caller, UtcTime now,
                                        std::optional<RateLimit::Left>& left) {
  const ApiSettings& settings = settings_of(parts);
  if (settings.requests == 0) return std::nullopt;
  left = parts.rate_limit->count(caller, now, settings);
  if (!left->is_over) return std::nullopt;
  return refused(request, {429,
                           "rate_limit",
                           "Too many requests",
                           fmt::format("{} requests within {} s are allowed; the next one in {} s", settings.requests,
                                       settings.seconds, left->seconds),
                           {}});
}

Response answered(const ApiParts& parts, const Request& request, CallNote& note, std::optional<RateLimit::Left>& left) {
  const UtcTime now = parts.clock->now();
  const std::string from = "address " + request.address;
  if (auto file = page_answer(request)) {
    note.route = "/";
    if (auto over = counted_request(parts, request, from, now, left)) return *std::move(over);
    return *std::move(file);
  }
  if (is_reading(request) && is_below_problems(request.path)) {
    note.route = kProblemRoot;
    if (auto over = counted_request(parts, request, from, now, left)) return *std::move(over);
    return problem_page(request);
  }
  const FoundRoute found = find_route(request.method, request.path);
  if (!found.route) {
    if (auto over = counted_request(parts, request, from, now, left)) return *std::move(over);
    const bool is_for_all = is_page(request.path) || is_below_problems(request.path);
    if (found.methods.empty() && !is_for_all)
      return refused(request,
                     {404,
                      "not_found",
                      "There is no such thing",
                      is_link(request.path) ? "this link is not known" : fmt::format("nothing stands at {}", request.path),
                      {}});
    const std::string allowed = is_for_all ? "GET, HEAD, OPTIONS" : fmt::format("{}, OPTIONS", fmt::join(found.methods, ", "));
    if (request.method == "OPTIONS") return {204, "", "", {{"Allow", allowed}}};
    Response answer = refused(
        request, {405,
                  "method",
                  "This path does not take that method",
                  fmt::format("{} takes {}", is_link(request.path) ? kCalendarRoot : std::string_view(request.path), allowed),
                  {}});
    answer.headers.emplace_back("Allow", allowed);
    return answer;
  }
  const Route& route = *found.route;
  note.route = route.path;
  auto caller = caller_of(parts, request, route, now);
  if (auto* nobody = std::get_if<Response>(&caller)) {
    if (auto over = counted_request(parts, request, from, now, left)) return *std::move(over);
    return *std::move(nobody);
  }
  Actor& actor = std::get<Actor>(caller);
  note.actor = actor.name;
  if (auto over = counted_request(parts, request, actor.token_id.empty() ? from : "token " + actor.token_id, now, left))
    return *std::move(over);
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
  Call call{parts, request, now, parts.engine->snapshot(), found.ids, *type, std::move(actor)};
  if (is_reading(request)) return read(call, route);
  if (route.manner == Manner::unkept) return route.answer(call);
  return answer_once(call, route.manner == Manner::keyed, route.answer);
}

// What every answer says, whoever it was that made it.
Response said_to(const ApiParts& parts, const Request& request, Response answer, const std::optional<RateLimit::Left>& left) {
  if (left) say_rate_limit(answer, *left, settings_of(parts));
  // Answers change with every run and entry, and say so themselves.
  if (!answer.kept_fields && answer.header("Cache-Control").empty())
    answer.set_header("Cache-Control", is_reading(request) ? "private, no-cache" : "no-store");
  answer.headers.emplace_back("Vary", "Accept, Accept-Encoding, Authorization, Cookie");
  say_cors(answer, request, settings_of(parts).allowed_origins);
  return answer;
}

// Long enough for every caller that means well; what takes long to look through is a worker's, after it was counted.
bool is_short(const Request& request) {
  constexpr std::size_t kLong = 4096, kManyParameters = 8;
  std::size_t bytes = request.path.size();
  for (const char* name : {"accept", "accept-encoding", "authorization", "cookie", "if-none-match"})
    bytes += request.header(name).size();
  for (const auto& [name, value] : request.query) bytes += name.size() + value.size();
  return bytes <= kLong && request.query.size() <= kManyParameters && request.body.empty();
}

// Without what every answer says.
std::optional<Response> answered_at_once(const ApiParts& parts, const Request& request, CallNote& note,
                                         std::optional<RateLimit::Left>& left) {
  if (!is_reading(request) || !is_short(request) || is_ogc(request.path)) return std::nullopt;
  const UtcTime now = parts.clock->now();
  std::optional<Response> answer;
  std::string counted = "address " + request.address;
  if (auto file = page_answer(request)) {
    note.route = "/";
    answer = std::move(file);
  } else {
    const FoundRoute found = find_route(request.method, request.path);
    if (!found.route || (found.route->rests_on != RestsOn::weather && found.route->rests_on != RestsOn::picture))
      return std::nullopt;
    auto actor = known_caller(parts, request, now);
    if (!actor || not_allowed(parts, request, *found.route, *actor) || wrong_query(*found.route, request)) return std::nullopt;
    const auto type = best_type(request.header("accept"), found.route->types);
    if (!type) return std::nullopt;
    if (!actor->token_id.empty()) counted = "token " + actor->token_id;
    note = {found.route->path, actor->name};
    const Call call{parts, request, now, parts.engine->snapshot(), found.ids, *type, *std::move(actor)};
    const auto rests = rests_on(call, found.route->rests_on);
    if (!rests || !*rests) return std::nullopt;
    answer = at_hand(call, *found.route, **rests, true);
  }
  // One that is too many is not counted, so that it may be asked for again.
  if (answer && counted_request(parts, request, counted, now, left)) return std::nullopt;
  return answer;
}

}  // namespace

bool takes_long(const Request& request) {
  const FoundRoute found = find_route(request.method, request.path);
  return found.route && found.route->manner == Manner::slow;
}

Response respond(const ApiParts& parts, const Request& request, CallNote* note) {
  Response answer;
  CallNote own;
  std::optional<RateLimit::Left> left;
  const bool is_theirs = is_ogc(request.path);
  try {
    answer = answered(parts, is_theirs ? as_ours(request) : request, note ? *note : own, left);
  } catch (const std::exception& mistake) {
    // What it was is for whoever runs the service.
    spdlog::error("A mistake of the service: {}", without_secrets(mistake.what()));
    answer = refused(request, {500, "internal", "Something went wrong on our side", "the log has it under this request_id", {}});
  }
  if (is_theirs) answer = as_theirs(std::move(answer), request);
  if (answer.content_type == "application/problem+json") answer.body = without_secrets(answer.body);
  answer = compressed(request, std::move(answer));
  if (answer.status == 503 && answer.header("Retry-After").empty()) answer.set_header("Retry-After", "30");
  return said_to(parts, request, std::move(answer), left);
}

std::optional<Response> respond_at_once(const ApiParts& parts, const Request& request, CallNote* note) {
  CallNote own;
  std::optional<RateLimit::Left> left;
  auto answer = answered_at_once(parts, request, note ? *note : own, left);
  if (answer) answer = said_to(parts, request, *std::move(answer), left);
  return answer;
}

}  // namespace hakea::service
