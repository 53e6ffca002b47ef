// The OpenAPI document against the list of routes: neither offers what the other does not know. What is answered is held
// against it by tests/contract.
#include "service/http/openapi.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <boost/json.hpp>
#include <map>
#include <set>

#include "core/base/words.h"
#include "service/access/actor.h"
#include "service/http/routes.h"

namespace hakea::test {
namespace {

namespace json = boost::json;
using namespace hakea::service;

const json::value& document() {
  static const json::value parsed = [] {
    json::parse_options options;
    options.max_depth = 64;
    json::error_code failed;
    return json::parse(openapi_document(), failed, {}, options);
  }();
  return parsed;
}

// The value itself, or what it refers to.
const json::value& meant(const json::value& value) {
  if (const auto* object = value.if_object())
    if (const auto* reference = object->if_contains("$ref"))
      return document().at_pointer(std::string_view(reference->as_string()).substr(1));
  return value;
}

std::string text(const json::value& value) { return std::string(std::string_view(value.as_string())); }

// Those of the document; the OGC interfaces have one of their own.
std::vector<Route> all_routes() {
  std::vector<Route> all(routes().begin(), routes().end());
  all.insert(all.end(), link_routes().begin(), link_routes().end());
  return all;
}

const json::object* operation_of(const Route& route) {
  const auto* path = document().at("paths").as_object().if_contains(route.path);
  const auto* operation = path ? path->as_object().if_contains(lower(route.method)) : nullptr;
  return operation ? &operation->as_object() : nullptr;
}

std::set<std::string> query_of(const json::object& operation) {
  std::set<std::string> names;
  if (const auto* parameters = operation.if_contains("parameters"))
    for (const json::value& parameter : parameters->as_array())
      if (text(meant(parameter).at("in")) == "query") names.insert(text(meant(parameter).at("name")));
  return names;
}

std::set<std::string> set_of(std::string_view list) {
  const auto parts = words(list);
  return {parts.begin(), parts.end()};
}

TEST(OpenApi, HasEveryRouteAndNoOther) {
  std::set<std::string> known, documented;
  for (const Route& route : all_routes()) known.insert(fmt::format("{} {}", lower(route.method), route.path));
  for (const auto& path : document().at("paths").as_object())
    for (const auto& operation : path.value().as_object())
      documented.insert(fmt::format("{} {}", std::string_view(operation.key()), std::string_view(path.key())));
  EXPECT_EQ(documented, known);
}

TEST(OpenApi, NamesTheParametersFormsAndRolesOfEveryRoute) {
  for (const Route& route : all_routes()) {
    const std::string name = fmt::format("{} {}", route.method, route.path);
    const json::object* operation = operation_of(route);
    ASSERT_TRUE(operation) << name;
    EXPECT_EQ(query_of(*operation), set_of(route.query)) << name;

    std::set<std::string> forms;
    for (const auto& response : operation->at("responses").as_object())
      if (std::string_view(response.key()).starts_with('2'))
        if (const auto* content = meant(response.value()).as_object().if_contains("content"))
          for (const auto& form : content->as_object()) forms.insert(std::string(std::string_view(form.key())));
    const bool is_without_body = operation->at("responses").as_object().contains("204");
    EXPECT_EQ(forms, is_without_body ? std::set<std::string>() : set_of(route.types)) << name;

    const json::array& ways = operation->at("security").as_array();
    const bool is_for_anybody = route.path == "/openapi.json" || route.path == "/unsubscribe/{id}" || route.path == "/cal/{id}" ||
                                (route.path == "/session" && route.method == "POST");
    EXPECT_EQ(ways.empty(), is_for_anybody) << name;
    for (const json::value& way : ways)
      for (const auto& scheme : way.as_object()) EXPECT_EQ(text(scheme.value().at(0)), word(route.least)) << name;
  }
}

TEST(OpenApi, AsksForAKeyWhereTheRouteDoes) {
  for (const Route& route : all_routes()) {
    bool is_asked_for = false;
    if (const auto* parameters = operation_of(route)->if_contains("parameters"))
      for (const json::value& parameter : parameters->as_array())
        if (const auto* reference = parameter.as_object().if_contains("$ref"))
          is_asked_for = is_asked_for || text(*reference) == "#/components/parameters/neededKey";
    EXPECT_EQ(is_asked_for, route.manner == Manner::keyed) << route.method << ' ' << route.path;
  }
}

TEST(OpenApi, RefersOnlyToWhatIsThere) {
  int references = 0;
  const auto look = [&](const auto& self, const json::value& value) -> void {
    if (const auto* list = value.if_array())
      for (const json::value& each : *list) self(self, each);
    const auto* object = value.if_object();
    if (!object) return;
    if (const auto* reference = object->if_contains("$ref"); reference && reference->is_string()) {
      json::error_code failed;
      EXPECT_TRUE(document().find_pointer(std::string_view(reference->get_string()).substr(1), failed))
          << reference->get_string();
      ++references;
    }
    for (const auto& member : *object) self(self, member.value());
  };
  look(look, document());
  EXPECT_GT(references, 500);
}

}  // namespace
}  // namespace hakea::test
