// Files of single members, and files that contradict one another, through the built program.
#include <gtest/gtest.h>

#include <filesystem>

#include "tests/service/program.h"
#include "tests/support/small_forecast.h"

namespace hakea::service {
namespace {

class SmallFeed : public Program {
 protected:
  // Twelve hours from eleven in the morning of 30 March at the unit, `celsius` everywhere.
  std::string file(const std::string& name, double celsius, std::optional<int> member = {}) {
    std::vector<double> hours;
    for (int h = 0; h <= 12; ++h) hours.push_back(h);
    const auto folder = folder_.path() / "feed";
    std::filesystem::create_directory(folder);
    return test::write_forecast((folder / name).string(), {.hours = hours,
                                                           .member = member,
                                                           .fields = {{"t2m", "air_temperature", "degC", {celsius}},
                                                                      {"blh", "atmosphere_boundary_layer_thickness", "m", {900}}},
                                                           .latitudes = {-38, -36},
                                                           .longitudes = {151, 153}});
  }
  Outcome assess(const std::string& more = "") {
    const std::string warm = R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":21}})";
    return run(fmt::format("assess --units {} --feed {} --format json {}", write("u.json", unit(warm)),
                           (folder_.path() / "feed").string(), more));
  }
};

TEST_F(SmallFeed, FilesOfOneMemberEachAreJudgedTogether) {
  file("m1.nc", 20, 1);
  file("m2.nc", 25, 2);
  file("m3.nc", 19, 3);
  const Outcome o = assess();
  ASSERT_EQ(o.code, 0) << o.err;
  EXPECT_TRUE(o.err.empty()) << o.err;
  const auto document = parse_json(o.out, "out");
  ASSERT_TRUE(document) << o.out;
  EXPECT_EQ(document->at("runs").as_array().size(), 1u);
  const json::value& day = document->at("units").at(0).at("days").at(0);
  EXPECT_EQ(day.at("date").as_string(), "2027-03-30");
  EXPECT_EQ(day.at("verdict").as_string(), "met");
  EXPECT_EQ(json::serialize(day.at("members")), R"({"met":2,"of":3})");
}

TEST_F(SmallFeed, TwoFilesThatContradictEachOtherAreRefusedAndNothingIsMet) {
  file("a.nc", 20);
  file("b.nc", 19);  // either alone would meet the limit
  const Outcome o = assess();
  EXPECT_NE(o.err.find("a.nc: t2m: gives air_temperature of 2027-03-30T00:00:00Z otherwise than b.nc does"), std::string::npos)
      << o.err;
  EXPECT_NE(o.err.find("b.nc: t2m: gives air_temperature of 2027-03-30T00:00:00Z otherwise than a.nc does"), std::string::npos)
      << o.err;
  ASSERT_EQ(o.code, 0) << o.err;
  const auto document = parse_json(o.out, "out");
  ASSERT_TRUE(document) << o.out;
  for (const json::value& day : document->at("units").at(0).at("days").as_array()) {
    EXPECT_EQ(day.at("verdict").as_string(), "unknown");
    EXPECT_EQ(day.at("missing").at(0).at("quantity").as_string(), "air_temperature");
  }
}

TEST_F(SmallFeed, ARunFromTheFutureIsRefused) {
  file("a.nc", 20);
  const Outcome o = assess("--now 2027-03-29T22:00:00Z");
  EXPECT_EQ(o.code, 1);
  EXPECT_NE(o.err.find("2027-03-30T00:00:00Z, more than an hour ahead of now"), std::string::npos) << o.err;
  EXPECT_EQ(assess("--now 2027-03-29T23:00:00Z").code, 0);
}

TEST_F(SmallFeed, AUnitOutsideTheGridIsNamed) {
  file("a.nc", 20);
  const std::string units = write("far.json", R"({"type":"Feature","id":"far","geometry":{"type":"Point","coordinates":[10,50]},)"
                                              R"("properties":{"time_zone":"Europe/Berlin","prescription":{"limits":[]}}})");
  const Outcome o = run(fmt::format("assess --units {} --feed {}", units, (folder_.path() / "feed").string()));
  EXPECT_EQ(o.code, 0);
  EXPECT_NE(o.err.find("far: lies outside the grid"), std::string::npos) << o.err;
}

TEST_F(SmallFeed, HoursSayHowTheMixingHeightWasFound) {
  file("a.nc", 20);
  const Outcome o = assess("--hours --quantities mixing_height");
  ASSERT_EQ(o.code, 0) << o.err;
  const auto document = parse_json(o.out, "out");
  ASSERT_TRUE(document) << o.out;
  const json::value& mixing = document->at("units").at(0).at("hours").at("quantities").at("mixing_height");
  EXPECT_EQ(json::serialize(mixing.at("method").at("model")), "[[0,13]]") << json::serialize(mixing);
  EXPECT_EQ(json::serialize(mixing.at("flags").at("methods_disagree")), "[]");
}

}  // namespace
}  // namespace hakea::service
