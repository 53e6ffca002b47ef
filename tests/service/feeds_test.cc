// Whole forecast files through the built program: what a file lacks stays unknown, damaged ones end cleanly, runs given
// together are told apart.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <map>

#include "tests/service/program.h"
#include "tests/support/case_file.h"
#include "tests/support/feed_files.h"

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

// Every real file that gives several quantities, with the aliases of the table, assessed for a unit at a place of it.
class FeedSet : public Feeds, public ::testing::WithParamInterface<test::FeedFile> {
 protected:
  std::vector<test::IndependentValue> reads_;

  void SetUp() override {
    Feeds::SetUp();
    if (IsSkipped()) return;
    reads_ = test::independent_reading().at(GetParam().file);
  }
  std::string feed_config() {
    std::string toml = "[aliases]\n";
    for (const auto& [variable, alias] : GetParam().aliases) toml += fmt::format("\"{}\" = \"{}\"\n", variable, alias);
    return write("feed.toml", toml);
  }
  // The first place that was read independently; for files without places, any.
  std::pair<std::string, std::string> place() const {
    for (const auto& r : reads_)
      if (r.what == "at") return {r.latitude, r.longitude};
    return {"-37", "152"};
  }
};

TEST_P(FeedSet, RunsThroughAssessWithoutNonsense) {
  const auto [latitude, longitude] = place();
  const std::string unit_file =
      units(std::remainder(std::stod(longitude), 360.0), std::stod(latitude),
            limit("relative_humidity", R"({"min":5,"max":95})") + "," + limit("air_temperature", R"({"min":-60,"max":60})"));
  const Outcome o =
      assess(unit_file, fmt::format("--hours --quantities air_temperature,dew_point_temperature,relative_humidity,wind_speed,"
                                    "precipitation_amount,ffdi,mixing_height --feed-config '{}' --feed '{}'",
                                    feed_config(), path(GetParam().file)));
  ASSERT_EQ(o.code, 0) << o.err;
  const auto document = parse_json(o.out, "out");
  ASSERT_TRUE(document);
  const json::value& unit = document->at("units").at(0);
  ASSERT_FALSE(unit.at("days").as_array().empty());
  for (const json::value& day : unit.at("days").as_array()) {
    const std::string verdict(day.at("verdict").as_string());
    EXPECT_TRUE(verdict == "met" || verdict == "unknown" || verdict == "near_miss" || verdict == "out") << verdict;
  }
  const auto& hours = unit.at("hours");
  const auto& times = hours.at("times").as_array();
  const std::map<std::string, std::pair<double, double>> plausible{
      {"air_temperature", {-90, 60}}, {"dew_point_temperature", {-100, 45}}, {"relative_humidity", {0, 100}},
      {"wind_speed", {0, 450}},       {"precipitation_amount", {0, 300}},    {"ffdi", {0, 400}},
      {"mixing_height", {0, 9000}}};
  std::map<std::pair<std::string, std::string>, double> seen;
  for (const auto& [quantity, range] : plausible) {
    const auto& values = hours.at("quantities").at(quantity).at("values").as_array();
    ASSERT_EQ(values.size(), times.size());
    for (std::size_t h = 0; h < values.size(); ++h) {
      if (values[h].is_null()) continue;
      const double x = values[h].to_number<double>();
      EXPECT_TRUE(x >= range.first && x <= range.second) << quantity << ' ' << times[h] << ": " << x;
      seen[{quantity, std::string(times[h].as_string())}] = x;
    }
  }
  // What was read independently at the place and on the hour is what the assessment saw.
  for (const auto& r : reads_) {
    const bool is_plain = r.name == "air_temperature" || r.name == "dew_point_temperature" || r.name == "wind_speed";
    if (r.what != "at" || r.latitude != latitude || r.longitude != longitude || !is_plain || r.value.empty()) continue;
    if (!r.time.ends_with(":00:00Z")) continue;
    ASSERT_TRUE(seen.contains({r.name, r.time})) << r.name << ' ' << r.time;
    EXPECT_NEAR((seen[{r.name, r.time}]), std::stod(r.value), 1e-3) << r.name << ' ' << r.time;
  }
}

TEST_P(FeedSet, IsInspectedAsItWasReadIndependently) {
  const auto [latitude, longitude] = place();
  const Outcome o = run(fmt::format("inspect --format json --at={},{} --feed-config '{}' '{}'", latitude, longitude,
                                    feed_config(), path(GetParam().file)));
  ASSERT_EQ(o.code, 0) << o.err;
  const auto document = parse_json(o.out, "out");
  ASSERT_TRUE(document);
  EXPECT_TRUE(document->at("accepted").as_bool());
  const auto& times = document->at("times");
  for (const auto& r : reads_) {
    if (r.what == "times" && r.name != "count") {
      EXPECT_EQ(times.at(r.name).as_string(), r.value);
    }
    if (r.what != "at" || times.at("count").as_int64() != 1 || r.latitude != latitude || r.longitude != longitude) continue;
    const json::value& value = document->at("at").at("values").at(r.name).at(0);
    if (r.value.empty()) {
      EXPECT_TRUE(value.is_null()) << r.name;
    } else {
      EXPECT_NEAR(value.to_number<double>(), std::stod(r.value), 1e-5 * std::max(10.0, std::abs(std::stod(r.value)))) << r.name;
    }
  }
}

// Files with at least two quantities.
std::vector<test::FeedFile> sets() {
  auto files = test::feed_files_taken();
  const auto reads = test::independent_reading();
  std::erase_if(files, [&](const test::FeedFile& f) {
    const auto found = reads.find(f.file);
    return found == reads.end() ||
           std::count_if(found->second.begin(), found->second.end(), [](const auto& r) { return r.what == "variable"; }) < 2;
  });
  return files;
}

INSTANTIATE_TEST_SUITE_P(All, FeedSet, ::testing::ValuesIn(sets()),
                         [](const auto& row) { return test::test_name(row.param.file); });

}  // namespace
}  // namespace hakea::service
