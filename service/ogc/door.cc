#include "service/ogc/door.h"

#include <algorithm>
#include <array>
#include <optional>

#include "core/base/words.h"
#include "service/access/base64url.h"
#include "service/http/problem.h"
#include "service/input/json.h"
#include "service/output/json_text.h"
#include "service/output/json_writer.h"

namespace hakea::service {
namespace {

struct Form {
  std::string_view name, type;
};
constexpr std::array<Form, 5> kForms{{{"json", "application/json"},
                                      {"geojson", "application/geo+json"},
                                      {"coveragejson", "application/prs.coverage+json"},
                                      {"covjson", "application/prs.coverage+json"},
                                      {"openapi", "application/vnd.oai.openapi+json"}}};
constexpr std::string_view kNoType = "none/none";

// The media type that an `f` means: the name of a form in any case, or a type itself.
std::string type_of_form(std::string_view f) {
  const std::string name = lower(f);
  const auto form = std::find_if(kForms.begin(), kForms.end(), [&](const Form& known) { return known.name == name; });
  if (form != kForms.end()) return std::string(form->type);
  return name.find('/') == std::string::npos || name.find_first_of("*,;") != std::string::npos ? std::string(kNoType) : name;
}

bool is_form(const std::pair<std::string, std::string>& parameter) { return parameter.first == "f"; }

// The password of "Basic …" (RFC 7617): what stands behind the first colon. The user's name is for the caller's own use.
std::optional<std::string> password_of(std::string_view authorization) {
  constexpr std::string_view kBasic = "basic ";
  constexpr std::size_t kLongest = 1024;
  if (authorization.size() > kLongest || lower(authorization.substr(0, kBasic.size())) != kBasic) return std::nullopt;
  std::string coded(authorization.substr(kBasic.size()));
  if (coded.find_first_of("-_") != std::string::npos) return std::nullopt;
  // The plain alphabet of RFC 4648 §4, padded, in the one of §5.
  std::replace(coded.begin(), coded.end(), '+', '-');
  std::replace(coded.begin(), coded.end(), '/', '_');
  coded.resize(coded.find_last_not_of('=') + 1);
  const auto plain = from_base64url(coded);
  if (!plain) return std::nullopt;
  const std::size_t colon = plain->find(':');
  if (colon == std::string::npos) return std::nullopt;
  return plain->substr(colon + 1);
}

}  // namespace

bool is_ogc(std::string_view path) { return path == kOgcRoot || path.starts_with(std::string(kOgcRoot) + "/"); }

Request as_ours(Request request) {
  if (const auto token = password_of(request.header("authorization"))) request.headers["authorization"] = "Bearer " + *token;
  const auto f = std::find_if(request.query.begin(), request.query.end(), is_form);
  // A second one stays, and is refused as the unknown parameter that it is then.
  if (f != request.query.end()) {
    request.headers["accept"] = type_of_form(f->second);
    request.query.erase(f);
  }
  return request;
}

Response as_theirs(Response answer, const Request& asked) {
  if (answer.content_type != "application/problem+json") return answer;
  const auto f = std::find_if(asked.query.begin(), asked.query.end(), is_form);
  auto problem = parse_json(answer.body, "problem");
  if (!problem || !problem->is_object()) return answer;
  if (answer.status == 406 && f != asked.query.end()) {
    const std::string what = "f=" + f->second + " is not to be had here";
    Response wrong =
        problem_response(mistakes_of_query({{ErrorKind::invalid, "unknown_format", "?f", what, text_member(*problem, "detail")}}),
                         asked.request_id);
    answer.status = wrong.status;
    answer.body = wrong.body;
    problem = parse_json(answer.body, "problem");
    if (!problem) return answer;
  }
  if (answer.status == 401) answer.headers.emplace_back("WWW-Authenticate", "Basic realm=\"hakea\", charset=\"UTF-8\"");
  const std::string type = text_member(*problem, "type"), detail = text_member(*problem, "detail");
  JsonWriter exception;
  exception.begin_object().text("code", type.substr(type.rfind('/') + 1));
  exception.text("description", detail.empty() ? text_member(*problem, "title") : detail).end_object();
  answer.body = joined_objects(answer.body, exception.str());
  return answer;
}

}  // namespace hakea::service
