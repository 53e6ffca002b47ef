// CoverageJSON held against its public schemas (tests/data/coveragejson).
#pragma once

#include <fmt/format.h>

#include <optional>
#include <string>

#include "tests/support/case_file.h"
#include "tests/support/program_run.h"

namespace hakea::test {

// What the schemas find wrong with a document, exit code 1 where there is anything; nothing where the validator is not installed.
inline std::optional<Outcome> checked_coverage(const std::string& document, const TempDir& folder) {
  const auto file = folder.write("coverage.json", document);
  Outcome outcome = run_program(
      "/usr/bin/python3",
      fmt::format("'{0}/independent/check_coveragejson.py' '{0}/data/coveragejson' '{1}'", tests_folder(), file.string()),
      folder);
  if (outcome.code == 77) return std::nullopt;
  return outcome;
}

}  // namespace hakea::test
