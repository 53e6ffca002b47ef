#include "service/http/openapi.h"

#include <array>
#include <memory>

#include "service/base/content_hash.h"
#include "service/http/conditional.h"
#include "service/http/handlers.h"
#include "service/output/json_text.h"

namespace hakea::service {
namespace {

constexpr std::array<std::string_view, 17> kSources{
    "access.json",    "alerts.json",   "bookings.json",      "calendars.json", "days.json",
    "districts.json", "document.json", "events.json",        "hours.json",     "observations_and_outcomes.json",
    "past.json",      "plan.json",     "prescriptions.json", "service.json",   "shared.json",
    "stops.json",     "units.json"};

json::value parsed(std::string_view text) {
  json::parse_options options;
  options.max_depth = 64;  // schemas stand deeper in it than anything that callers may send
  json::error_code failed;
  json::value value = json::parse(text, failed, {}, options);
  HAKEA_EXPECT(!failed && value.is_object());
  return value;
}

// Members of `more` put into `into`. What two files have must be objects, whose members differ.
void merge(json::object& into, const json::object& more) {
  for (const auto& member : more) {
    json::value* known = into.if_contains(member.key());
    if (!known) {
      into.insert(member);
      continue;
    }
    HAKEA_EXPECT(known->is_object() && member.value().is_object());
    merge(known->get_object(), member.value().get_object());
  }
}

std::string put_together() {
  json::object whole;
  for (const std::string_view file : kSources) merge(whole, parsed(openapi_source(file)).get_object());
  return json_text(whole);
}

}  // namespace

const std::string& openapi_document() {
  static const std::string document = put_together();
  return document;
}

// Known to anybody, and the same until the program is another one.
Response show_openapi(const Call& call) {
  static const auto document = std::make_shared<const std::string>(openapi_document());
  static const std::string tag = '"' + content_hash(*document).substr(0, 32) + '"';
  Response answer{200, call.type, {}, {{"ETag", tag}, {"Cache-Control", "public, max-age=3600"}}};
  const std::string_view known = call.request.header("if-none-match");
  for (const std::string& each : {tag, compressed_tag(tag)})
    if (names_tag(known, each)) return {304, "", "", {{"ETag", each}, {"Cache-Control", "public, max-age=3600"}}};
  if (call.type != "application/json") answer.content_type += ";version=3.1";
  answer.kept = document;
  return answer;
}

}  // namespace hakea::service
