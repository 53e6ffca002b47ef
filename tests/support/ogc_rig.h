// What tests of the OGC interfaces ask of an answer.
#pragma once

#include <gtest/gtest.h>

#include <set>
#include <string>
#include <vector>

#include "tests/support/api_rig.h"

namespace hakea::test {

class OgcTest : public ApiTest {
 protected:
  using ApiTest::ApiTest;
  Answer get(const std::string& target, const std::map<std::string, std::string>& headers = {}) {
    return rig->call("GET", target, "", headers);
  }
};

// Members of answers; an exception, which fails the test, where there is none of the kind.
inline std::string text_of(const service::json::value& value, std::string_view name) {
  return std::string(value.at(name).as_string());
}

// The target of the first link of a relation, as a path of this service; empty without one.
inline std::string link_to(const service::json::value& document, std::string_view relation) {
  for (const service::json::value& link : document.at("links").as_array())
    if (text_of(link, "rel") == relation) {
      const std::string href = text_of(link, "href");
      return href.substr(href.find('/', href.find("://") + 3));
    }
  return "";
}

inline std::set<std::string> relations_of(const service::json::value& document) {
  std::set<std::string> relations;
  for (const service::json::value& link : document.at("links").as_array()) relations.insert(text_of(link, "rel"));
  return relations;
}

// The ids of the elements of a list.
inline std::vector<std::string> ids_of(const service::json::value& list) {
  std::vector<std::string> ids;
  for (const service::json::value& element : list.as_array()) ids.push_back(text_of(element, "id"));
  return ids;
}

inline std::vector<std::string> times_of(const Answer& coverage) {
  std::vector<std::string> times;
  for (const service::json::value& time : coverage.body.at_pointer("/domain/axes/t/values").as_array())
    times.emplace_back(time.as_string());
  return times;
}

}  // namespace hakea::test
