// Files of one run that are members of an ensemble, and files that say the same time twice.
#include <gtest/gtest.h>

#include <filesystem>
#include <tuple>

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

// A pressure tells time, place and member: 600 + 100 t + 10 y + x, and more by member.
class MemberDimension : public ::testing::TestWithParam<std::tuple<std::size_t, std::string>> {};

TEST_P(MemberDimension, MayStandAnywhereUnderAnyName) {
  const auto& [place, name] = GetParam();
  test::SmallForecast forecast{.fields = {{"sp", "surface_air_pressure", "hPa", {}}}};
  for (int t = 0; t < 3; ++t)
    for (int cell = 0; cell < 4; ++cell) forecast.fields[0].values.push_back(600 + 100 * t + 10 * (cell / 2) + cell % 2);
  forecast.members = {5, 2, 9};  // numbers, not places
  forecast.member_dimension = name;
  forecast.member_place = place;
  forecast.by_member["sp"] = {40, 20, 90};
  const test::TempDir folder;
  const std::string path = test::write_forecast((folder.path() / "e.nc").string(), forecast);
  const auto plan = plan_run({}, {path}, {{-37, 145}, {-36, 146}});
  ASSERT_TRUE(plan) << plan.error().what;
  ASSERT_EQ(plan->members, 3u);
  ASSERT_EQ(plan->fields.size(), 1u);
  const auto file = NetcdfFile::open(path);
  ASSERT_TRUE(file);
  std::vector<std::vector<std::vector<float>>> seen(3, std::vector(3, std::vector<float>(2)));  // [step][member][point]
  const auto read = read_fields({&*file}, plan->fields, {0}, plan->stencils, {3, 3, 0}, [&](Slab&& slab) {
    ASSERT_EQ(slab.members, 3u);
    for (std::size_t s = 0, at = 0; s < slab.steps; ++s)
      for (std::size_t m = 0; m < 3; ++m)
        for (std::size_t p = 0; p < slab.points->size(); ++p, ++at)
          seen[slab.first_step + s][m][static_cast<std::size_t>((*slab.points)[p])] = slab.values[at];
  });
  ASSERT_TRUE(read) << read.error().what;
  // In the order of their numbers: 2, 5, 9.
  const std::vector<float> added{20, 40, 90};
  for (std::size_t t = 0; t < 3; ++t)
    for (std::size_t m = 0; m < 3; ++m) {
      const float base = 600 + 100 * static_cast<float>(t) + added[m];
      EXPECT_EQ(seen[t][m][0], base) << t << " " << m;
      EXPECT_EQ(seen[t][m][1], base + 11) << t << " " << m;
    }
}

std::string place_in_words(const ::testing::TestParamInfo<std::tuple<std::size_t, std::string>>& info) {
  const std::vector<std::string> places{"First", "BehindTime", "BetweenTheAxes", "Last"};
  return places[std::get<0>(info.param)] + "_" + std::get<1>(info.param);
}
INSTANTIATE_TEST_SUITE_P(Places, MemberDimension,
                         ::testing::Combine(::testing::Values(0u, 1u, 2u, 3u),
                                            ::testing::Values("realization", "number", "zufall")),
                         place_in_words);

}  // namespace
}  // namespace hakea::ingest
