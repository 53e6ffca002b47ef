// Every published case of tests/cases against the formula of its name. A formula is found in the list of its room; a case
// without a source or with an unknown formula fails.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

#include "core/catalogue/catalogue.h"
#include "tests/core/formulas.h"
#include "tests/core/proven.h"
#include "tests/support/case_file.h"

namespace hakea::test {
namespace {

std::vector<Case> all_cases() {
  std::vector<Case> all;
  for (const auto& entry : std::filesystem::directory_iterator(tests_folder() + "/cases")) {
    const std::string name = entry.path().filename().string();
    // Answers and scripts hold no formulas.
    if (!name.ends_with(".csv") || name.starts_with("demo_") || name.starts_with("alerts_")) continue;
    for (Case& c : read_cases(entry.path().string())) all.push_back(std::move(c));
  }
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

// Quantities held against outside numbers by tests of their own.
const std::map<std::string_view, std::string_view> kProvenElsewhere{
    {"wind_shift", "our own definition: the largest turn of two hours"},
    {"hours_since_rain", "our own definition: counted from the rain record"},
    {"days_since_rain", "our own definition: counted from the rain record"},
    {"near_ground_gradient", "a difference of two temperatures over a height"},
    {"hot_dry_windy", "the Soundings' own tests hold it against worked examples"},
    {"receptors_under_smoke", "our own definition: counted in the drift sector"},
};

class PublishedCase : public ::testing::TestWithParam<Case> {};

TEST_P(PublishedCase, IsReproduced) {
  const Case& c = GetParam();
  ASSERT_FALSE(c.source.empty()) << c.file << ":" << c.line << " names no source";
  ASSERT_TRUE(c.tag == "seen" || c.tag == "memory" || c.tag == "derived") << c.file << ":" << c.line << " has the tag " << c.tag;
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

// The quantities that the cases hold against numbers from outside, with the best tag among them.
std::map<std::string_view, std::string> proven_quantities() {
  std::map<std::string_view, std::string> proven;
  static const std::vector<Case> cases = all_cases();
  for (const Case& c : cases) {
    const auto prove = [&](std::string_view key) {
      std::string& tag = proven[key];
      if (tag.empty() || c.tag == "seen" || (c.tag == "memory" && tag == "derived")) tag = c.tag;
    };
    if (core::find_quantity(c.formula)) prove(c.formula);
    const auto [begin, end] = proven_by_formula().equal_range(c.formula);
    for (auto it = begin; it != end; ++it) prove(it->second);
  }
  return proven;
}

TEST(PublishedCases, HoldEveryDerivedQuantityAgainstANumberFromOutside) {
  const auto proven = proven_quantities();
  for (const core::QuantityRow& row : core::catalogue())
    if (row.origin == core::Origin::derived && !kProvenElsewhere.contains(row.key)) {
      EXPECT_TRUE(proven.contains(row.key)) << row.key << " has no case; name the formulas that prove it in tests/core/proven.h";
    }
  for (const auto& [formula, key] : proven_by_formula())
    EXPECT_TRUE(core::find_quantity(key)) << formula << " is said to prove " << key << ", which is no quantity";
}

}  // namespace
}  // namespace hakea::test
