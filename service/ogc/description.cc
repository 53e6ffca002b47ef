// The two interfaces in OpenAPI 3.0, which OGC's own tests read (ours is 3.1): made from the list of routes, so that it tells of
// all that is answered and of nothing else.
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "core/base/words.h"
#include "service/http/routes.h"
#include "service/ogc/door.h"
#include "service/ogc/handlers.h"
#include "service/ogc/links.h"
#include "service/output/cautions.h"

namespace hakea::service {
namespace {

struct Parameter {
  std::string_view name, description, schema;
};
constexpr std::array<Parameter, 9> kParameters{{
    {"f", "The form of the answer, which overrules Accept.", R"({"type":"string"})"},
    {"datetime",
     "An instant or an interval FROM/TO of RFC 3339 times with offset; .. leaves an end open. Only hours that exist are "
     "answered.",
     R"({"type":"string"})"},
    {"parameter-name", "Keys of parameter_names, separated by commas; all when left out.", R"({"type":"string"})"},
    {"coords", "Well-known text, longitude first: POINT(152.61 -37.72).", R"({"type":"string"})"},
    {"crs", "There is CRS84 only.", R"({"type":"string"})"},
    {"bbox", "west,south,east,north in degrees.", R"({"type":"array","minItems":4,"maxItems":6,"items":{"type":"number"}})"},
    {"limit", "At most so many items; more than 1000 is taken as 1000.",
     R"({"type":"integer","minimum":1,"maximum":1000,"default":100})"},
    {"cursor", "Where to go on: as a link of relation next has it.", R"({"type":"string"})"},
    {"district", "Units of one district.", R"({"type":"string"})"},
}};

struct Segment {
  std::string_view before, name;  // what stands before {id}, and how it is called here
};
constexpr std::array<Segment, 4> kSegments{
    {{"collections", "collectionId"}, {"instances", "instanceId"}, {"locations", "locId"}, {"items", "featureId"}}};

struct NamedPath {
  std::string path, operation;
  std::vector<std::string_view> names;  // of its segments
};
// "/edr/collections/{id}/position": "/collections/{collectionId}/position", "getCollectionsPosition".
NamedPath named(std::string_view route, std::string_view root) {
  NamedPath made{"", "get", {}};
  std::string_view last;
  for (const std::string_view segment : words(route.substr(root.size()), '/')) {
    if (segment == "{id}") {
      for (const Segment& known : kSegments)
        if (known.before == last) {
          made.path += fmt::format("/{{{}}}", known.name);
          made.names.push_back(known.name);
          made.operation += "One";
        }
      continue;
    }
    made.path += "/" + std::string(segment);
    made.operation += static_cast<char>(segment.front() - 'a' + 'A');
    made.operation += segment.substr(1);
    last = segment;
  }
  if (made.path.empty()) made = {"/", "getLandingPage", {}};
  return made;
}

void write_parameter_row(JsonWriter& out, std::string_view name, std::string_view in, std::string_view description,
                         std::string_view schema, bool is_list = false, bool is_required = false) {
  out.begin_object().text("name", name).text("in", in).text("description", description);
  if (in == "path" || is_required) out.yes_or_no("required", true);
  if (is_list) out.text("style", "form").yes_or_no("explode", false);
  out.key("schema").raw(schema).end_object();
}

void write_content(JsonWriter& out, std::string_view types, std::string_view schema) {
  out.key("content").begin_object();
  for (const std::string_view type : words(types)) out.key(type).begin_object().key("schema").raw(schema).end_object();
  out.end_object();
}

void write_path(JsonWriter& out, const Route& route, std::string_view root) {
  const NamedPath path = named(route.path, root);
  const std::vector<std::string_view> query = words(route.query);
  out.key(path.path).begin_object().key("get").begin_object().text("operationId", path.operation);
  out.text("summary", path.operation == "getLandingPage" ? "The landing page" : path.path.substr(1));
  out.key("parameters").begin_list();
  for (const std::string_view name : path.names)
    write_parameter_row(out, name, "path", "As a list of this interface has it.", R"({"type":"string"})");
  for (const Parameter& parameter : kParameters)
    if (parameter.name == "f" || std::find(query.begin(), query.end(), parameter.name) != query.end())
      write_parameter_row(out, parameter.name, "query", parameter.description, parameter.schema, parameter.name == "bbox",
                          parameter.name == "coords");
  out.end_list().key("responses").begin_object();
  out.key("200").begin_object().text("description", "What was asked for.");
  write_content(out, route.types, R"({"type":"object"})");
  out.end_object();
  const bool is_series = route.types.find("coverage") != std::string_view::npos;
  if (is_series) out.key("204").begin_object().text("description", "There is nothing at that place or time.").end_object();
  out.key("default").begin_object().text("description", "Refused, with the reason: problem details (RFC 9457).");
  write_content(out, "application/problem+json", R"({"$ref":"#/components/schemas/exception"})");
  out.end_object().end_object().end_object().end_object();
}

}  // namespace

Response describe_ogc(const Call& call) {
  const bool is_edr = call.request.path.starts_with(std::string(kOgcRoot) + "/edr");
  const std::string root = is_edr ? "/edr" : "/features";
  JsonWriter out;
  out.begin_object().text("openapi", "3.0.3").key("info").begin_object();
  out.text("title", is_edr ? "Hakea: OGC API - Environmental Data Retrieval" : "Hakea: OGC API - Features").text("version", "1");
  out.text("description", kGuidance).end_object();
  out.key("servers").begin_list().begin_object().text("url", ogc_url(call, root)).end_object().end_list();
  out.key("security").begin_list();
  out.begin_object().key("token").begin_list().end_list().end_object();
  out.begin_object().key("password").begin_list().end_list().end_object().end_list();
  out.key("paths").begin_object();
  for (const Route& route : ogc_routes())
    if (route.path == root || route.path.starts_with(root + "/")) write_path(out, route, root);
  out.end_object().key("components").begin_object().key("schemas").begin_object().key("exception");
  out.raw(R"({"type":"object","required":["code"],"properties":{"code":{"type":"string"},"description":{"type":"string"},)"
          R"("type":{"type":"string"},"title":{"type":"string"},"status":{"type":"integer"},"detail":{"type":"string"}}})");
  out.end_object().key("securitySchemes").begin_object();
  out.key("token").begin_object().text("type", "http").text("scheme", "bearer").end_object();
  out.key("password").begin_object().text("type", "http").text("scheme", "basic");
  out.text("description", "Any name, and the token as the password.").end_object().end_object().end_object().end_object();
  Response answer = call.json(out.str());
  if (call.type != "application/json") answer.content_type += ";version=3.0";
  return answer;
}

}  // namespace hakea::service
