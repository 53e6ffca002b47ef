// Every published case of tests/cases against the formula of its name. A formula is found in the list of its room; a case
// without a source or with an unknown formula fails.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

#include "tests/core/formulas.h"
#include "tests/support/case_file.h"

namespace hakea::test {
namespace {

std::vector<Case> all_cases() {
  std::vector<Case> all;
  for (const auto& entry : std::filesystem::directory_iterator(tests_folder() + "/cases"))
    if (entry.path().extension() == ".csv" && !entry.path().filename().string().starts_with("demo_"))  // answers, no formulas
      for (Case& c : read_cases(entry.path().string())) all.push_back(std::move(c));
  std::sort(all.begin(), all.end(),
            [](const Case& a, const Case& b) { return std::tie(a.file, a.line) < std::tie(b.file, b.line); });
  return all;
}

const Formulas& all_formulas() {
  static const Formulas all = [] {
    Formulas merged;
    for (const Formulas& room : formulas_by_room()) merged.insert(room.begin(), room.end());
    return merged;
  }();
  return all;
}

class PublishedCase : public ::testing::TestWithParam<Case> {};

TEST_P(PublishedCase, IsReproduced) {
  const Case& c = GetParam();
  ASSERT_FALSE(c.source.empty()) << c.file << ":" << c.line << " names no source";
  const auto formula = all_formulas().find(c.formula);
  ASSERT_NE(formula, all_formulas().end()) << "no formula is called " << c.formula;
  const double value = formula->second(c);
  if (c.expected == "missing") {
    EXPECT_TRUE(std::isnan(value)) << value;
    return;
  }
  const double expected = std::stod(c.expected);
  const bool relative = c.tolerance.ends_with('r');
  const double tolerance = std::stod(c.tolerance) * (relative ? std::abs(expected) : 1.0);
  EXPECT_NEAR(value, expected, tolerance) << c.formula << " (" << c.source << ")";
}

INSTANTIATE_TEST_SUITE_P(Cases, PublishedCase, ::testing::ValuesIn(all_cases()), [](const auto& one) {
  std::string name =
      one.param.file.substr(0, one.param.file.find('.')) + "_" + std::to_string(one.param.line) + "_" + one.param.formula;
  for (char& ch : name)
    if (!std::isalnum(static_cast<unsigned char>(ch))) ch = '_';
  return name;
});

}  // namespace
}  // namespace hakea::test
