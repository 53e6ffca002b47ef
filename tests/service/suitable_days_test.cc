// A published rule set on real hours: the program's met dates against those of twenty lines of Python that share none of our
// code (tests/independent/suitable_days_nyc.py wrote tests/data/suitable_days_nyc.csv).
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <map>
#include <set>
#include <sstream>

#include "service/input/json.h"
#include "tests/support/case_file.h"
#include "tests/support/program_run.h"

namespace hakea::test {
namespace {

using Dates = std::map<std::string, std::set<std::string>>;  // by station

// The cells of the grid that hold each airport's observations.
const std::map<std::string, std::string> kCells{{"EWR", "[-74.25,40.75]"}, {"JFK", "[-73.75,40.75]"}, {"LGA", "[-73.75,40.75]"}};

// Yurkonis et al. (2019), Fire Ecology 15:7: 2-43 degC, 25-80 %, 6.44-24.12 km/h, six rain-free hours inside 08:00-18:00.
std::string units() {
  std::string features;
  for (const auto& [station, cell] : kCells) {
    std::string id = station;
    for (char& c : id) c = static_cast<char>(std::tolower(c));
    features += fmt::format(
        R"({}{{"type":"Feature","id":"{}","geometry":{{"type":"Point","coordinates":{}}},"properties":{{"name":"{}","time_zone":"America/New_York",)",
        features.empty() ? "" : ",", id, cell, station);
    features += R"("fuel":{"type":"grassland"},"prescription":{"limits":[
      {"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"min":2,"max":43}},
      {"quantity":"relative_humidity","scope":"each_hour","kind":"hard","acceptable":{"min":25,"max":80}},
      {"quantity":"wind_speed","scope":"each_hour","kind":"hard","acceptable":{"min":6.44,"max":24.12}},
      {"quantity":"precipitation_amount","scope":"each_hour","kind":"hard","acceptable":{"max":0}}],
      "within":{"from":"08:00","to":"18:00"},"duration_h":6}}})";
  }
  return R"({"type":"FeatureCollection","features":[)" + features + "]}";
}

// The year's table in the program's own columns: the same numbers under other headings.
std::string weather_table(const std::string& path) {
  std::istringstream in(text_of(path));
  std::string
      table =
          "unit,time_utc,air_temperature [[degF]],relative_humidity [%],wind_speed [[mi_i]/h],precipitation_amount [[in_i]]\n",
      line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    auto f = split_csv(line);
    for (auto& field : f)
      if (field == "NA") field.clear();
    for (char& c : f[0]) c = static_cast<char>(std::tolower(c));
    table += fmt::format("{},{},{},{},{},{}\n", f[0], f[14], f[5], f[7], f[9], f[11]);
  }
  return table;
}

Dates expected(const std::string& source) {
  Dates dates;
  std::istringstream in(text_of(tests_folder() + "/data/suitable_days_nyc.csv"));
  for (std::string line; std::getline(in, line);)
    if (const auto f = split_csv(line); f[0] == source) dates[f[1]].insert(f[2]);
  return dates;
}

Dates met(const Outcome& outcome) {
  Dates dates;
  const auto document = service::parse_json(outcome.out, "the program's answer");
  if (!document) throw std::runtime_error(outcome.err);
  for (const auto& unit : document->at("units").as_array()) {
    std::string station(unit.at("id").as_string());
    for (char& c : station) c = static_cast<char>(std::toupper(c));
    for (const auto& day : unit.at("days").as_array())
      if (day.at("verdict").as_string() == "met") dates[station].insert(std::string(day.at("date").as_string()));
  }
  return dates;
}

class SuitableDays : public ::testing::Test {
 protected:
  void SetUp() override {
    if (shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside this checkout";
    std::ofstream(folder_.path() / "units.geojson") << units();
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
  std::ofstream(folder_.path() / "year.csv") << weather_table(shared_folder() + "/feeds/e_station/nyc_airports_hourly_2013.csv");
  const Outcome outcome = assess(fmt::format("--weather '{}'", (folder_.path() / "year.csv").string()));
  ASSERT_EQ(outcome.code, 0) << outcome.err;
  EXPECT_EQ(met(outcome), expected("nyc_airports_hourly_2013.csv"));
}

}  // namespace
}  // namespace hakea::test
