// Files of one run that are members of an ensemble, and files that say the same time twice.
#include <gtest/gtest.h>

#include <filesystem>

#include "ingest/run/forecast_run.h"
#include "tests/support/small_forecast.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

class SmallFiles : public ::testing::Test {
 protected:
  // Air temperature of 2 x 2 cells at the given hours, `celsius` everywhere; with a scalar realization where given.
  std::string file(const std::string& name, double celsius, std::vector<double> at = {0, 1, 2}, std::optional<int> member = {}) {
    return test::write_forecast(
        (folder_.path() / name).string(),
        {.hours = std::move(at), .member = member, .fields = {{"t2m", "air_temperature", "degC", {celsius}}}});
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
