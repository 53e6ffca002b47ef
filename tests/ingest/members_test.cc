// Files of one run that are members of an ensemble, and files that say the same time twice.
#include <gtest/gtest.h>

#include <filesystem>

#include "ingest/run/forecast_run.h"
#include "tests/support/netcdf_writer.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

class SmallFiles : public ::testing::Test {
 protected:
  // Air temperature of 2 x 2 cells at the given hours, `celsius` everywhere; with a scalar realization where given.
  std::string file(const std::string& name, double celsius, std::vector<double> at = {0, 1, 2}, std::optional<int> member = {}) {
    const std::string path = (folder_.path() / name).string();
    const test::NetcdfWriter nc(path, NC_NETCDF4);
    const int time = nc.dimension("time", at.size()), lat = nc.dimension("lat", 2), lon = nc.dimension("lon", 2);
    const int t = nc.variable("time", NC_DOUBLE, {time}), y = nc.variable("lat", NC_DOUBLE, {lat}),
              x = nc.variable("lon", NC_DOUBLE, {lon}), v = nc.variable("t2m", NC_FLOAT, {time, lat, lon}),
              run = nc.variable("forecast_reference_time", NC_DOUBLE, {});
    nc.text(t, "units", "hours since 2027-03-30 00:00");
    nc.text(t, "standard_name", "time");
    nc.text(run, "units", "hours since 2027-03-30 00:00");
    nc.text(run, "standard_name", "forecast_reference_time");
    nc.text(y, "units", "degrees_north");
    nc.text(x, "units", "degrees_east");
    nc.text(v, "units", "degC");
    nc.text(v, "standard_name", "air_temperature");
    if (member) {
      const int m = nc.variable("realization", NC_INT, {});
      nc.text(m, "standard_name", "realization");
      nc.write(m, {}, {}, {static_cast<double>(*member)});
    }
    nc.write(run, {}, {}, {0});
    nc.write(t, {0}, {at.size()}, at);
    nc.write(y, {0}, {2}, {-37, -36});
    nc.write(x, {0}, {2}, {145, 146});
    nc.write(v, {0, 0, 0}, {at.size(), 2, 2}, std::vector<double>(at.size() * 4, celsius));
    return path;
  }
  // How many times of all fields are read.
  static std::ptrdiff_t read_times(const RunPlan& plan) {
    std::ptrdiff_t n = 0;
    for (const FieldPlan& f : plan.fields)
      n += std::count_if(f.step_of_time.begin(), f.step_of_time.end(), [](std::int32_t s) { return s >= 0; });
    return n;
  }

  test::TempDir folder_;
};

TEST_F(SmallFiles, OfOneMemberEachAreJoined) {
  const std::vector<std::string> files{file("b.nc", 22, {0, 1, 2}, 7), file("a.nc", 20, {0, 1, 2}, 3)};
  const auto plan = plan_run({}, files, {{-36.5, 145.5}});
  ASSERT_TRUE(plan) << plan.error().what;
  EXPECT_TRUE(plan->refusals.empty());
  EXPECT_EQ(plan->members, 2u);
  ASSERT_EQ(plan->fields.size(), 2u);
  EXPECT_EQ(plan->fields[0].member_of, std::vector<std::int32_t>{1});  // in the order of their numbers
  EXPECT_EQ(plan->fields[1].member_of, std::vector<std::int32_t>{0});
  EXPECT_EQ(read_times(*plan), 6);
}

TEST_F(SmallFiles, ThatDifferAtTheSameTimeAreRefusedThere) {
  for (const bool turned : {false, true}) {
    std::vector<std::string> files{file("a.nc", 20, {0, 1}), file("b.nc", 22, {1, 2})};
    if (turned) std::swap(files[0], files[1]);
    const auto plan = plan_run({}, files, {{-36.5, 145.5}});
    ASSERT_TRUE(plan);
    ASSERT_EQ(plan->refusals.size(), 2u);
    EXPECT_NE(plan->refusals[0].why.find("otherwise than"), std::string::npos) << plan->refusals[0].why;
    EXPECT_NE(plan->refusals[0].hint.find("realization"), std::string::npos);
    EXPECT_EQ(read_times(*plan), 2);  // 0 of a.nc and 2 of b.nc
  }
}

TEST_F(SmallFiles, AThirdFileDoesNotSettleAQuarrel) {
  const auto plan = plan_run({}, {file("a.nc", 20), file("b.nc", 22), file("c.nc", 20)}, {{-36.5, 145.5}});
  ASSERT_TRUE(plan);
  EXPECT_EQ(read_times(*plan), 0);
}

TEST_F(SmallFiles, ThatSayTheSameAreReadOnce) {
  const std::string a = file("a.nc", 20, {0, 1}), b = file("b.nc", 20, {1, 2}), copy = (folder_.path() / "copy.nc").string();
  std::filesystem::copy_file(a, copy);
  const auto plan = plan_run({}, {a, b, copy}, {{-36.5, 145.5}});
  ASSERT_TRUE(plan);
  EXPECT_TRUE(plan->refusals.empty());
  EXPECT_EQ(read_times(*plan), 3);
}

TEST_F(SmallFiles, WithoutANumberGiveWayToNumberedMembers) {
  const auto plan =
      plan_run({}, {file("a.nc", 20), file("b.nc", 22, {0, 1, 2}, 1), file("c.nc", 24, {0, 1, 2}, 2)}, {{-36.5, 145.5}});
  ASSERT_TRUE(plan);
  ASSERT_FALSE(plan->refusals.empty());
  for (const Refusal& r : plan->refusals) EXPECT_TRUE(r.file.ends_with("a.nc")) << r.file;
  EXPECT_EQ(plan->members, 2u);
  EXPECT_EQ(read_times(*plan), 6);
}

}  // namespace
}  // namespace hakea::ingest
