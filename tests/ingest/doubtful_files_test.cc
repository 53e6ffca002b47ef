// Files that could be read as weather they do not hold: what is refused, left out or kept apart, each with its reason.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <random>

#include "ingest/inspect.h"
#include "ingest/run/forecast_run.h"
#include "ingest/run/variable.h"
#include "tests/support/small_forecast.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

using test::SmallField;
using test::SmallForecast;

const PointOfInterest kMiddle{-36.4, 145.4};

class DoubtfulFile : public ::testing::Test {
 protected:
  std::string write(const std::string& name, const SmallForecast& forecast) {
    return test::write_forecast((folder_.path() / name).string(), forecast);
  }
  RunPlan planned(const std::vector<std::string>& files, const Feed& feed = {}) {
    const auto plan = plan_run(feed, files, {kMiddle});
    return plan ? *plan : RunPlan{};
  }
  // The reason of the only refusal.
  static std::string why(const RunPlan& plan) {
    return plan.refusals.size() == 1 ? plan.refusals[0].why : std::to_string(plan.refusals.size()) + " refusals";
  }
  std::string wind(const std::string& long_name) {
    return write("w.nc", {.fields = {{"wind_u", "eastward_wind", "m s-1", {5}, {{"long_name", long_name}}}}});
  }

  test::TempDir folder_;
};

TEST_F(DoubtfulFile, AScaleOfZeroWouldReadAsOneValueEverywhere) {
  const RunPlan plan = planned({write(
      "a.nc",
      {.fields = {{"t2m", "air_temperature", "K", {1, 2, 3, 4}, {}, {{"scale_factor", 0}, {"add_offset", 290}}, NC_SHORT}}})});
  EXPECT_NE(why(plan).find("scale_factor 0"), std::string::npos) << why(plan);
  EXPECT_TRUE(plan.fields.empty());
}

TEST_F(DoubtfulFile, AMissingValueIsKnownInWhicheverPrecisionItIsStated) {
  const RunPlan plan =
      planned({write("a.nc", {.fields = {{"t2m", "air_temperature", "degC", {20}, {}, {{"missing_value", 49.9}}}}})});
  ASSERT_EQ(plan.fields.size(), 1u);
  EXPECT_TRUE(std::isnan(decoded(plan.fields[0].decoding, static_cast<double>(49.9F))));
  EXPECT_EQ(decoded(plan.fields[0].decoding, 20), 20);
}

TEST(Decoding, RangesOfUnsignedBytesAreUnsignedToo) {
  Variable v;
  v.type = ValueType::int8;
  v.attributes = {{"_Unsigned", true, "true", {}}, {"valid_range", false, "", {0, -2}}};
  Meaning meaning;
  meaning.fed = core::Fed::cloud_area_fraction;
  const Decoding d = decoding_of(v, meaning);
  EXPECT_EQ(decoded(d, 100), 100);
  EXPECT_TRUE(std::isnan(decoded(d, 255)));
  EXPECT_EQ(d.valid_max, 254);
}

TEST_F(DoubtfulFile, BetweenNorthAndNorthThereIsNoSouth) {
  const std::string file = write("a.nc", {.fields = {{"wd", "wind_from_direction", "degree", {350, 10, 350, 10}}}});
  const Inspection seen = inspect({}, file, kMiddle, {});
  ASSERT_TRUE(seen.at);
  EXPECT_EQ(seen.at->values.at("wind_from_direction"), std::vector<float>(3, 350));  // the nearest cell's, not 214
}

TEST_F(DoubtfulFile, ATimeCenturiesAwayIsDamage) {
  const SmallField field{"t2m", "air_temperature", "degC", {20}};
  const RunPlan plan = planned({write("a.nc", {.hours = {0, 1, 3e6}, .fields = {field}})});
  EXPECT_NE(why(plan).find("times from 2027-03-30T00:00:00Z to 2369"), std::string::npos) << why(plan);
  EXPECT_TRUE(plan.fields.empty());
}

TEST_F(DoubtfulFile, ALeadBeyondAllTimeIsMissing) {
  const std::string path = (folder_.path() / "lead.nc").string();
  {
    const test::NetcdfWriter nc(path, NC_NETCDF4);
    const int lead = nc.dimension("step", 2), place = nc.dimension("lat", 1);
    const int s = nc.variable("step", NC_DOUBLE, {lead}), run = nc.variable("forecast_reference_time", NC_DOUBLE, {}),
              v = nc.variable("t2m", NC_FLOAT, {lead, place});
    nc.text(s, "standard_name", "forecast_period");
    nc.text(s, "units", "hours");
    nc.text(run, "standard_name", "forecast_reference_time");
    nc.text(run, "units", "hours since 2027-03-30 00:00");
    nc.text(v, "standard_name", "air_temperature");
    nc.text(v, "units", "degC");
    nc.write(s, {0}, {2}, {1, 1e30});
    nc.write(run, {}, {}, {0});
    nc.write(v, {0, 0}, {2, 1}, {20, 20});
  }
  EXPECT_EQ(planned({path}).steps.size(), 1u);
}

TEST_F(DoubtfulFile, ARateBesideAnAmountIsNotAddedToIt) {
  const std::string amount = write("a.nc", {.hours = {1, 2}, .fields = {{"tp", "precipitation_amount", "kg m-2", {1}}}}),
                    rate = write("b.nc", {.hours = {3, 4}, .fields = {{"pr", "precipitation_flux", "kg m-2 s-1", {1e-4}}}});
  const RunPlan plan = planned({amount, rate});
  EXPECT_NE(why(plan).find("where a.nc gives precipitation_amount in \"kg m-2\""), std::string::npos) << why(plan);
  ASSERT_EQ(plan.fields.size(), 2u);
  EXPECT_EQ(plan.fields[1].step_of_time, (std::vector<std::int32_t>{-1, -1}));
}

TEST_F(DoubtfulFile, AHeightOnlyInTheLongNameIsHeeded) {
  EXPECT_NE(why(planned({wind("100 metre U wind component")})).find("100 m above"), std::string::npos);
  EXPECT_NE(why(planned({wind("u wind, 80m")})).find("80 m above"), std::string::npos);
  for (const char* well : {"10 metre U wind component", "u at 10-m", "wind of 12 members", "0.25 m grid", "run 20270330 m"})
    EXPECT_TRUE(planned({wind(well)}).refusals.empty()) << well;
}

TEST_F(DoubtfulFile, ALandMaskOfAnotherGridIsNotLaidOverThisOne) {
  const SmallForecast forecast{.fields = {{"t2m", "air_temperature", "degC", {20}}}};
  const std::string file = write("a.nc", forecast);
  // Sea but for the cell in the north-east; once on these cells, written with other digits, and once far away.
  SmallForecast mask{.fields = {{"lsm", "land_binary_mask", "1", {0, 0, 0, 1}, {}, {}, NC_FLOAT, true}}};
  mask.longitudes = {145.0001, 146.0001};
  Feed feed;
  feed.land_mask = write("here.nc", mask);
  const RunPlan here = planned({file}, feed);
  EXPECT_TRUE(here.refusals.empty()) << why(here);
  EXPECT_EQ(here.stencils[0][0].cells, 1);
  mask.longitudes = {15, 16};
  feed.land_mask = write("there.nc", mask);
  const RunPlan there = planned({file}, feed);
  EXPECT_NE(why(there).find("another grid"), std::string::npos) << why(there);
  EXPECT_EQ(there.stencils[0][0].cells, 4);
}

TEST_F(DoubtfulFile, WhatCannotBeReadIsNotAccepted) {
  const std::string path = (folder_.path() / "damaged.nc").string();
  {
    const test::NetcdfWriter nc(path, NC_NETCDF4);
    const int time = nc.dimension("time", 1), lat = nc.dimension("lat", 40), lon = nc.dimension("lon", 50);
    const int t = nc.variable("time", NC_DOUBLE, {time}), y = nc.variable("lat", NC_DOUBLE, {lat}),
              x = nc.variable("lon", NC_DOUBLE, {lon}),
              v = nc.variable("t2m", NC_FLOAT, {time, lat, lon}, {{1, 40, 50}, false, false, 1});
    nc.text(t, "units", "hours since 2027-03-30 00:00");
    nc.text(y, "units", "degrees_north");
    nc.text(x, "units", "degrees_east");
    nc.text(v, "units", "degC");
    nc.text(v, "standard_name", "air_temperature");
    const auto rising = [](std::size_t n) {
      std::vector<double> list;
      for (std::size_t i = 0; i < n; ++i) list.push_back(static_cast<double>(i));
      return list;
    };
    nc.write(t, {0}, {1}, {0});
    nc.write(y, {0}, {40}, rising(40));
    nc.write(x, {0}, {50}, rising(50));
    std::mt19937 random(3);
    std::vector<double> values;
    for (int i = 0; i < 2000; ++i) values.push_back(static_cast<double>(random() % 4000) / 100);
    nc.write(v, {0, 0, 0}, {1, 40, 50}, values);
  }
  EXPECT_TRUE(inspect({}, path, {}, {}).accepted);
  std::fstream bytes(path, std::ios::in | std::ios::out | std::ios::binary);
  bytes.seekp(static_cast<std::streamoff>(std::filesystem::file_size(path)) - 1500);
  bytes << std::string(200, '\x5a');
  bytes.close();
  const Inspection seen = inspect({}, path, PointOfInterest{10, 10}, {});
  EXPECT_FALSE(seen.accepted);
  ASSERT_FALSE(seen.refused.empty());
  EXPECT_NE(seen.refused[0].why.find("cannot be read"), std::string::npos) << seen.refused[0].why;
}

}  // namespace
}  // namespace hakea::ingest
