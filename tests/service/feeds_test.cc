// Whole forecast files through the built program: what a file lacks stays unknown, damaged ones end cleanly, runs given
// together are told apart.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <map>

#include "tests/service/program.h"
#include "tests/support/case_file.h"

namespace hakea::service {
namespace {

class Feeds : public Program {
 protected:
  void SetUp() override {
    if (test::shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside the checkout";
  }
  static std::string path(const std::string& name) { return test::shared_folder() + "/feeds/" + name; }
  static std::string limit(const std::string& quantity, const std::string& acceptable) {
    return fmt::format(R"({{"quantity":"{}","scope":"each_hour","kind":"hard","acceptable":{}}})", quantity, acceptable);
  }
  std::string units(double longitude, double latitude, const std::string& limits) {
    return write(
        "units.json",
        fmt::format(R"({{"type":"Feature","id":"a","geometry":{{"type":"Point","coordinates":[{},{}]}},)"
                    R"("properties":{{"time_zone":"America/New_York","prescription":{{"duration_h":1,"limits":[{}]}}}}}})",
                    longitude, latitude, limits));
  }
  Outcome assess(const std::string& unit_file, const std::string& feeds) {
    return run(fmt::format("assess --units '{}' --format json {}", unit_file, feeds));
  }
  static std::string without_clock(const std::string& out) {
    auto document = parse_json(out, "out")->as_object();
    document.erase("generated_at");
    for (auto& r : document.at("runs").as_array()) r.as_object().erase("computed_at");
    return json::serialize(document);
  }
};

TEST_F(Feeds, WhatAFileLacksLeavesEveryDayUnknown) {
  const std::string unit_file =
      units(-105.2, 39.1, limit("relative_humidity", R"({"min":5,"max":95})") + "," + limit("mixing_height", R"({"min":500})"));
  const Outcome o = assess(unit_file, "--feed " + path("derived/nam211_surface_lambert.nc"));
  ASSERT_EQ(o.code, 0) << o.err;
  const auto document = parse_json(o.out, "out");
  ASSERT_TRUE(document);
  const auto& days = document->at("units").at(0).at("days").as_array();
  ASSERT_FALSE(days.empty());
  for (const json::value& day : days) {
    EXPECT_EQ(day.at("verdict").as_string(), "unknown");
    EXPECT_NE(json::serialize(day.at("missing")).find("mixing_height"), std::string::npos) << json::serialize(day);
    for (const json::value& window : day.at("windows").as_array()) EXPECT_TRUE(window.at("unconfirmed").as_bool());
  }
}

TEST_F(Feeds, DamagedFilesEndCleanlyAndAreNeverMet) {
  // Zeros read from damage would meet these limits.
  const std::string unit_file =
      units(-74, 40.7, limit("air_temperature", R"({"min":-1,"max":1})") + "," + limit("wind_speed", R"({"max":1})"));
  for (const char* folder : {"derived/truncated", "g_nasty"})
    for (const auto& entry : std::filesystem::directory_iterator(path(folder))) {
      if (!entry.is_regular_file()) continue;
      const std::string file = entry.path().string();
      const Outcome o = assess(unit_file, fmt::format("--feed '{}'", file));
      EXPECT_TRUE(o.code == 0 || o.code == 1) << file << " " << o.code << " " << o.err;
      if (o.code == 1) {
        EXPECT_FALSE(o.err.empty()) << file;
      }
      EXPECT_EQ(o.out.find(R"("verdict":"met")"), std::string::npos) << file;
      const Outcome seen = run(fmt::format("inspect --format json '{}'", file));
      EXPECT_TRUE(seen.code == 0 || seen.code == 1) << file << " " << seen.code << " " << seen.err;
      EXPECT_TRUE(parse_json(seen.out, "out")) << file << " " << seen.out;
    }
}

TEST_F(Feeds, TheNewestRunIsAssessedInWhateverOrderAndHoweverOftenFilesAreGiven) {
  const std::string unit_file = units(-74.1, 40.6, limit("relative_humidity", R"({"max":60})"));
  const std::string older = path("derived/nyc_hourly_20130401_240h.nc"), newer = path("derived/nyc_hourly_20130402_240h.nc");
  const Outcome both = assess(unit_file, fmt::format("--feed {} --feed {}", older, newer));
  ASSERT_EQ(both.code, 0) << both.err;
  const auto document = parse_json(both.out, "out");
  ASSERT_TRUE(document);
  EXPECT_TRUE(document->at("now").as_string().starts_with("2013-04-02")) << document->at("now").as_string();
  EXPECT_EQ(document->at("runs").as_array().size(), 2u);
  const std::string wanted = without_clock(both.out);
  for (const std::string& feeds : {fmt::format("--feed {1} --feed {0}", older, newer),
                                   fmt::format("--feed {0} --feed {1} --feed {0} --feed {1}", older, newer)}) {
    const Outcome o = assess(unit_file, feeds);
    ASSERT_EQ(o.code, 0) << o.err;
    EXPECT_EQ(without_clock(o.out), wanted) << feeds;
  }
}

TEST_F(Feeds, InspectAgreesWithTheIndependentReading) {
  std::ifstream in(test::tests_folder() + "/ingest/independent_reading.csv");
  std::map<std::string, json::value> seen;
  std::size_t compared = 0;
  for (std::string line; std::getline(in, line);) {
    if (line.starts_with('#') || line.starts_with("file,")) continue;
    const auto cell = test::split_csv(line);
    ASSERT_EQ(cell.size(), 6u) << line;
    const std::string call = fmt::format("inspect --format json --at={},{} {}", cell[1], cell[2], path(cell[0]));
    if (!seen.contains(call)) {
      const Outcome o = run(call);
      const auto document = parse_json(o.out, "out");
      ASSERT_TRUE(document) << call << o.err;
      seen.emplace(call, *document);
    }
    const json::value& value = seen.at(call).at("at").at("values").at(cell[3]).at(std::stoul(cell[4]));
    ++compared;
    if (cell[5].empty()) {
      EXPECT_TRUE(value.is_null()) << line;
      continue;
    }
    const double wanted = std::stod(cell[5]);
    EXPECT_NEAR(value.to_number<double>(), wanted, 1e-5 * std::max(10.0, std::abs(wanted))) << line;
  }
  EXPECT_GT(compared, 50u);
}

}  // namespace
}  // namespace hakea::service
