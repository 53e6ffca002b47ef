// The beginning of tests on weather files of others, which stand beside the checkout or not.
#pragma once

#include <gtest/gtest.h>

#include <string>

#include "ingest/inspect.h"
#include "tests/support/case_file.h"

namespace hakea::ingest {

class WeatherFiles : public ::testing::Test {
 protected:
  void SetUp() override {
    if (test::shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside the checkout";
  }
  static std::string path(const std::string& name) { return test::shared_folder() + "/feeds/" + name; }
  // The variable of a quantity; one without a name where the file has none.
  static Inspection::Variable quantity(const Inspection& i, const std::string& key) {
    for (const auto& v : i.variables)
      if (v.quantity == key) return v;
    return {};
  }
  static bool has(const Inspection& i, const std::string& key) { return !quantity(i, key).name.empty(); }
};

}  // namespace hakea::ingest
