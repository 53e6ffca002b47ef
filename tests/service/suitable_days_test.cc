// A published rule set on real hours: the program's met dates against those of twenty lines of Python that share none of our
// code (tests/independent/suitable_days_nyc.py wrote tests/data/suitable_days_nyc.csv).
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <map>
#include <set>
#include <sstream>

#include "service/input/json.h"
#include "tests/support/airport_year.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"
#include "tests/support/program_run.h"

namespace hakea::test {
namespace {

using Dates = std::map<std::string, std::set<std::string>>;  // by station

Dates expected(const std::string& source) {
  Dates dates;
  std::istringstream in(file_bytes(tests_folder() + "/data/suitable_days_nyc.csv"));
  for (std::string line; std::getline(in, line);)
    if (const auto f = split_csv(line); f[0] == source) dates[f[1]].insert(f[2]);
  return dates;
}

Dates met(const Outcome& outcome) {
  Dates dates;
  const auto document = service::parse_json(outcome.out, "the program's answer");
  if (!document) throw std::runtime_error(outcome.err);
  for (const auto& unit : document->at("units").as_array()) {
    const std::string station = in_case(std::string(unit.at("id").as_string()), std::toupper);
    for (const auto& day : unit.at("days").as_array())
      if (day.at("verdict").as_string() == "met") dates[station].insert(std::string(day.at("date").as_string()));
  }
  return dates;
}

class SuitableDays : public ::testing::Test {
 protected:
  void SetUp() override {
    if (shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside this checkout";
    std::ofstream(folder_.path() / "units.geojson") << airport_units(kGrassRules);
  }
  Outcome assess(const std::string& words) {
    return run_program(HAKEA_PROGRAM,
                       fmt::format("assess --units '{}' {} --format json", (folder_.path() / "units.geojson").string(), words),
                       folder_);
  }
  TempDir folder_;
};

TEST_F(SuitableDays, OfARunAreThoseOfIndependentCode) {
  for (const char* run : {"nyc_hourly_20130401_240h.nc", "nyc_hourly_20130402_240h.nc"}) {
    const Outcome outcome = assess(fmt::format("--feed '{}/feeds/derived/{}'", shared_folder(), run));
    ASSERT_EQ(outcome.code, 0) << outcome.err;
    EXPECT_EQ(met(outcome), expected(run)) << run;
  }
}

TEST_F(SuitableDays, OfAYearOfObservationsAreThoseOfIndependentCode) {
  std::ofstream(folder_.path() / "year.csv")
      << airport_weather(shared_folder() + "/feeds/e_station/nyc_airports_hourly_2013.csv");
  const Outcome outcome = assess(fmt::format("--weather '{}'", (folder_.path() / "year.csv").string()));
  ASSERT_EQ(outcome.code, 0) << outcome.err;
  EXPECT_EQ(met(outcome), expected("nyc_airports_hourly_2013.csv"));
}

}  // namespace
}  // namespace hakea::test
