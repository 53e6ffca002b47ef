// `hakea history` on a year of real hours: met dates, lost hours and what a relaxation gains against Python that shares none of
// our code (tests/independent/history_nyc.py wrote tests/data/history_nyc.csv).
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

// The rule sets of the script, in its words.
const std::map<std::string, std::string> kRuleSets{
    {"grass", kGrassRules},
    {"sector", R"({"limits":[
      {"quantity":"wind_from_direction","scope":"each_hour","kind":"hard","sectors":[{"from":200,"to":20}]},
      {"quantity":"relative_humidity","scope":"each_hour","kind":"hard","acceptable":{"min":30,"max":70}},
      {"quantity":"precipitation_amount","scope":"before","hours":24,"kind":"hard","acceptable":{"max":1}}],
      "within":{"from":"10:00","to":"17:00"},"latest_start":"13:00","duration_h":4})"},
    {"tail", R"({"limits":[
      {"quantity":"air_temperature","scope":"each_hour","allow_hours":1,"kind":"hard","acceptable":{"min":5,"max":24}},
      {"quantity":"relative_humidity","scope":"window_mean","kind":"hard","acceptable":{"min":35,"max":65}},
      {"quantity":"precipitation_amount","scope":"same_day","kind":"hard","acceptable":{"max":0.5}},
      {"quantity":"wind_speed","scope":"days_after","days":1,"allow_hours":2,"kind":"stop","acceptable":{"max":32}}],
      "within":{"from":"09:00","to":"16:00"},"duration_h":3,"days":["mon","tue","wed","thu","fri"],
      "season":[{"from":"03-01","to":"05-31"},{"from":"09-15","to":"11-30"}]})"},
};

using Rows = std::set<std::string>;  // rules,station,what,value

Rows expected(const std::string& rules) {
  Rows rows;
  std::istringstream in(file_bytes(tests_folder() + "/data/history_nyc.csv"));
  for (std::string line; std::getline(in, line);)
    if (line.starts_with(rules + ",")) rows.insert(line);
  return rows;
}

class History : public ::testing::TestWithParam<std::string> {
 protected:
  void SetUp() override {
    if (shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside this checkout";
    std::ofstream(folder_.path() / "units.geojson") << airport_units(kRuleSets.at(GetParam()));
    std::ofstream(folder_.path() / "year.csv")
        << airport_weather(shared_folder() + "/feeds/e_station/nyc_airports_hourly_2013.csv");
  }
  Outcome history(const std::string& words) {
    return run_program(
        HAKEA_PROGRAM,
        fmt::format("history --units '{0}/units.geojson' --weather '{0}/year.csv' {1}", folder_.path().string(), words), folder_);
  }
  TempDir folder_;
};

TEST_P(History, OfAYearIsThatOfIndependentCode) {
  const Outcome outcome = history("--format json");
  ASSERT_EQ(outcome.code, 0) << outcome.err;
  const auto document = service::parse_json(outcome.out, "the program's answer");
  ASSERT_TRUE(document) << outcome.out.substr(0, 300);
  const Rows wanted = expected(GetParam());
  Rows found;
  for (const auto& unit : document->at("units").as_array()) {
    const std::string begin = GetParam() + "," + in_case(std::string(unit.at("id").as_string()), std::toupper) + ",";
    for (const auto& date : unit.at("met_dates").as_array()) found.insert(begin + "met," + std::string(date.as_string()));
    EXPECT_EQ(unit.at("met").to_number<std::size_t>(), unit.at("met_dates").as_array().size());
    int by_month = 0, most = -1;
    for (const auto& met : unit.at("by_month").as_array()) by_month += met.to_number<int>();
    EXPECT_EQ(by_month, unit.at("met").to_number<int>());
    EXPECT_EQ(unit.at("by_year").as_array().front().at("year").to_number<int>(), 2013);
    for (const auto& lost : unit.at("hours_lost").as_array()) {
      const int limit = lost.at("limit").to_number<int>();
      found.insert(fmt::format("{}alone {},{}", begin, limit, lost.at("alone").to_number<int>()));
      found.insert(fmt::format("{}together {},{}", begin, limit, lost.at("together").to_number<int>()));
    }
    for (const std::string& row : wanted)
      if (row.starts_with(begin + "gain ")) most = std::max(most, std::stoi(row.substr(row.rfind(',') + 1)));
    const auto& best = unit.at("best_relaxation");
    EXPECT_EQ(best.at("gain_days").to_number<int>(), most);
    EXPECT_TRUE(wanted.contains(fmt::format("{}gain {},{}", begin, best.at("limit").to_number<int>(), most)));
  }
  for (const std::string& row : wanted)
    if (row.find(",gain ") == std::string::npos) {
      EXPECT_TRUE(found.contains(row)) << row << " is expected";
    }
  for (const std::string& row : found) EXPECT_TRUE(wanted.contains(row)) << row << " is not expected";
}

TEST_P(History, OfDatesAskedForIsThatPartOfTheYear) {
  const Outcome year = history("--format csv"), spring = history("--format csv --from 2013-04-10 --to 2013-05-20");
  ASSERT_EQ(spring.code, 0) << spring.err;
  std::istringstream in(spring.out);
  int rows = -1;  // the head
  for (std::string line; std::getline(in, line); ++rows) EXPECT_NE(year.out.find(line), std::string::npos) << line;
  EXPECT_EQ(rows, 3 * 41);
}

INSTANTIATE_TEST_SUITE_P(RuleSets, History, ::testing::Values("grass", "sector", "tail"),
                         [](const auto& rules) { return rules.param; });

}  // namespace
}  // namespace hakea::test
