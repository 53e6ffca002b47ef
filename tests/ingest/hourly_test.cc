// From native steps to hours: de-accumulation, gaps, directions, radiation, humidity.
#include "ingest/run/hourly.h"

#include <gtest/gtest.h>

#include <cmath>

#include "ingest/run/accumulation.h"

namespace hakea::ingest {
namespace {

using namespace core;
using std::chrono::hours;

const UtcTime kStart = std::chrono::sys_days(std::chrono::year(2027) / 3 / 30);
constexpr float kGap = std::numeric_limits<float>::quiet_NaN();

// A run of one point: `at("0 3 6")`, then fields with their values at those leads.
struct NativeRun {
  RunPlan plan;
  std::vector<std::vector<float>> values;

  explicit NativeRun(const std::vector<int>& leads) {
    plan.reference_time = kStart;
    for (const int h : leads) plan.steps.push_back(kStart + hours(h));
    plan.sampled_at = {{-37.7, 152.6}};
    plan.wind_rotation_deg = {0};
  }
  NativeRun& field(Fed fed, std::vector<float> v, Accumulation how = Accumulation::none, bool intervals = false) {
    FieldPlan f;
    f.fed = fed;
    plan.fields.push_back(f);
    plan.accumulation.push_back(how);
    std::vector<StepTime> times;
    for (std::size_t k = 0; k < plan.steps.size(); ++k)
      times.push_back(how == Accumulation::since_start           ? StepTime{kStart, plan.steps[k]}
                      : (intervals || how != Accumulation::none) ? StepTime{k ? plan.steps[k - 1] : plan.steps[k], plan.steps[k]}
                                                                 : StepTime{plan.steps[k], plan.steps[k]});
    plan.field_times.push_back(times);
    values.push_back(std::move(v));
    return *this;
  }
  // The intervals of the last field, by hours of lead.
  NativeRun& over(const std::vector<std::pair<int, int>>& intervals) {
    for (std::size_t k = 0; k < intervals.size(); ++k)
      plan.field_times.back()[k] = {kStart + hours(intervals[k].first), kStart + hours(intervals[k].second)};
    return *this;
  }
  PointHours hours_at_point() const { return HourTurner(plan).at_point(0, values); }
};

std::string text(const Column& c) {
  std::string s;
  for (std::size_t i = 0; i < c.size(); ++i) {
    char number[32];
    std::snprintf(number, sizeof number, "%.4g", static_cast<double>(c[i]));
    s += (i ? " " : "") + (c.is_missing(i) ? std::string("-") : std::string(number)) +
         (c.flags(i) & flag::kInterpolated ? "~" : "");
  }
  return s;
}

TEST(H7, AmountsSinceTheStartAreDifferenced) {
  // 0, .4, 1.0, 1.0, 3.1, 6.4 gives .4 .6 0 2.1 3.3 (atmosphere notes 7.3, by hand); an amount belongs to the hour that starts.
  const auto h = NativeRun({0, 1, 2, 3, 4, 5})
                     .field(Fed::precipitation_amount, {0, 0.4f, 1.0f, 1.0f, 3.1f, 6.4f}, Accumulation::since_start)
                     .hours_at_point();
  EXPECT_EQ(text(h.precipitation_amount), "0.4 0.6 0 2.1 3.3 -");
  EXPECT_EQ(h.precipitation_amount.why(5), Reason::gap);
}

TEST(H7, PackingNoiseIsNoRainAndAResetStartsAfresh) {
  const auto noise = NativeRun({0, 1, 2, 3, 4})
                         .field(Fed::precipitation_amount, {0, 2.0f, 1.97f, 2.0f, 2.5f}, Accumulation::since_start)
                         .hours_at_point();
  EXPECT_EQ(text(noise.precipitation_amount), "2 0 0 0.5 -");
  const auto reset =
      NativeRun({0, 1, 2, 3, 4}).field(Fed::precipitation_amount, {0, 2, 5, 1, 1.5f}, Accumulation::since_start).hours_at_point();
  EXPECT_EQ(text(reset.precipitation_amount), "2 3 1 0.5 -");
}

TEST(H7, AMissingNumberLengthensTheIntervalAndIsNeverZero) {
  const auto h =
      NativeRun({0, 1, 2, 3}).field(Fed::precipitation_amount, {0, kGap, 3, 4}, Accumulation::since_start).hours_at_point();
  EXPECT_EQ(text(h.precipitation_amount), "1.5~ 1.5~ 1 -");
  const auto long_gap =
      NativeRun({0, 1, 2, 3, 4, 5, 6, 7, 8})
          .field(Fed::precipitation_amount, {0, kGap, kGap, kGap, kGap, kGap, kGap, 7, 7}, Accumulation::since_start)
          .hours_at_point();
  EXPECT_EQ(text(long_gap.precipitation_amount), "- - - - - - - 0 -");
}

TEST(H7, StepsThatGrowLongerAreSpreadOverTheirOwnLength) {
  const auto h =
      NativeRun({0, 1, 2, 5, 11}).field(Fed::precipitation_amount, {0, 1, 1, 4, 10}, Accumulation::since_start).hours_at_point();
  EXPECT_EQ(text(h.precipitation_amount), "1 0 1~ 1~ 1~ 1~ 1~ 1~ 1~ 1~ 1~ -");
}

TEST(H7, SeparateAmountsEndAtTheirTimeAndALargeNegativeIsAFault) {
  const auto h =
      NativeRun({0, 1, 2, 3}).field(Fed::precipitation_amount, {0, 1, -0.02f, -0.9f}, Accumulation::per_step).hours_at_point();
  EXPECT_EQ(text(h.precipitation_amount), "1 0 - -");
  const auto rate = NativeRun({0, 3}).field(Fed::precipitation_amount, {0, 2}, Accumulation::rate).hours_at_point();
  EXPECT_EQ(text(rate.precipitation_amount), "2~ 2~ 2~ -");
}

// Global models write means since the last whole six hours: 0-1, 0-2, 0-3 h and so on. Expected by hand: mean times length, less
// what was there before.
TEST(H7, OfMeansThatBeginTogetherEachGivesWhatItAdds) {
  const std::vector<std::pair<int, int>> growing{{0, 1}, {0, 2}, {0, 3}, {3, 4}, {3, 5}};
  const auto rain = NativeRun({1, 2, 3, 4, 5})
                        .field(Fed::precipitation_amount, {1, 1.5f, 2, 1, 4}, Accumulation::rate)
                        .over(growing)
                        .hours_at_point();
  EXPECT_EQ(text(rain.precipitation_amount), "1 2 3 1 7 -");
  const auto gap = NativeRun({1, 2, 3, 4, 5})
                       .field(Fed::precipitation_amount, {1, kGap, 2, 1, 4}, Accumulation::rate)
                       .over(growing)
                       .hours_at_point();
  EXPECT_EQ(text(gap.precipitation_amount), "1 2.5~ 2.5~ 1 7 -");
  const auto sun = NativeRun({1, 2, 3, 4, 5})
                       .field(Fed::shortwave_radiation, {400, 500, 600, 700, 650}, Accumulation::none, true)
                       .over(growing)
                       .hours_at_point();
  EXPECT_EQ(text(sun.shortwave_radiation), "400 600 800 700 600 -");
}

TEST(H7, SumsOfSixHoursBeginAfresh) {
  const auto rain = NativeRun({3, 6, 9, 12})
                        .field(Fed::precipitation_amount, {3, 6, 2, 8}, Accumulation::since_start)
                        .over({{0, 3}, {0, 6}, {6, 9}, {6, 12}})
                        .hours_at_point();
  EXPECT_EQ(text(rain.precipitation_amount), "1~ 1~ 1~ 1~ 1~ 1~ 0.6667~ 0.6667~ 0.6667~ 2~ 2~ 2~ -");
}

TEST(Counting, IsToldByWhatMapsDo) {
  std::vector<double> low(100, 1.0), high(100, 2.0), mixed(100, 2.0);
  for (std::size_t i = 0; i < 50; ++i) mixed[i] = 0.2;
  CountingEvidence rising, falling, bucket, nothing;
  rising.add(low, high, 0.05);
  EXPECT_EQ(rising.verdict().counted, Accumulation::since_start);
  falling.add(low, mixed, 0.05);
  EXPECT_EQ(falling.verdict().counted, Accumulation::per_step);
  bucket.add(low, high, 0.05);
  bucket.add(high, low, 0.05);
  EXPECT_EQ(bucket.verdict().counted, Accumulation::since_start);
  EXPECT_TRUE(bucket.verdict().resets);
  nothing.add(std::vector<double>(100, 0.0), low, 0.05);
  EXPECT_FALSE(nothing.verdict().certain);
}

TEST(H6, InstantsAreInterpolatedAcrossSixHoursAtMostAndMarked) {
  const auto h = NativeRun({0, 3, 9, 16}).field(Fed::air_temperature, {10, 13, 19, 26}).hours_at_point();
  EXPECT_EQ(text(h.air_temperature), "10 11~ 12~ 13 14~ 15~ 16~ 17~ 18~ 19 - - - - - - 26");
}

TEST(H6, AMissingValueOfAStepIsMissing) {
  const auto h = NativeRun({0, 1, 2, 3}).field(Fed::air_temperature, {10, kGap, 12, 13}).hours_at_point();
  EXPECT_EQ(text(h.air_temperature), "10 - 12 13");
  EXPECT_EQ(h.air_temperature.why(1), Reason::gap);
  EXPECT_TRUE(h.wind_speed.empty());
  EXPECT_TRUE(h.mixing_height.empty());
}

TEST(H6, StepsOfOneThreeAndSixHoursBecomeHours) {
  const auto h = NativeRun({0, 1, 2, 5, 11}).field(Fed::mixing_height, {0, 100, 200, 500, 1100}).hours_at_point();
  EXPECT_EQ(text(h.mixing_height), "0 100 200 300~ 400~ 500 600~ 700~ 800~ 900~ 1000~ 1100");
}

TEST(H18, DirectionIsFromAndTrue) {
  // (4, 0) blows from 270, (2, 2) from 225, (0, 4) from 180, (1, -1) from 315 (WMO-No. 8; values of the MetPy tests).
  const auto h =
      NativeRun({0, 1, 2, 3}).field(Fed::eastward_wind, {4, 2, 0, 1}).field(Fed::northward_wind, {0, 2, 4, -1}).hours_at_point();
  EXPECT_EQ(text(h.wind_from_direction), "270 225 180 315");
}

TEST(H18, GridRelativeWindsAreTurnedAndKeepTheirSpeed) {
  NativeRun run({0, 1});
  run.field(Fed::x_wind, {10, 0}).field(Fed::y_wind, {5, 0});
  run.plan.wind_rotation_deg = {5.28273f};
  const auto h = run.hours_at_point();
  // (10, 5) becomes (10.4179, 4.0581): Snyder (1987) Lambert convergence, see grid_test.
  EXPECT_NEAR(static_cast<double>(h.wind_from_direction[0]), std::atan2(-10.4179, -4.0581) * 57.29577951 + 360, 1e-3);
  EXPECT_NEAR(static_cast<double>(h.wind_speed[0]), std::hypot(10.0, 5.0), 1e-5);
  EXPECT_EQ(h.wind_from_direction[1], 0.0f);  // calm has no direction to turn
}

TEST(H18, BetweenStepsSpeedIsLinearAndDirectionTurnsTheShortWay) {
  const auto h = NativeRun({0, 2}).field(Fed::wind_speed, {10, 20}).field(Fed::wind_from_direction, {350, 10}).hours_at_point();
  EXPECT_EQ(text(h.wind_speed), "10 15~ 20");
  EXPECT_NEAR(static_cast<double>(h.wind_from_direction[1]), 3.36, 0.05);  // nearer to the stronger wind
  // West 5 to east 5: no false calm, and no direction where they cancel.
  const auto opposite = NativeRun({0, 2}).field(Fed::eastward_wind, {5, -5}).field(Fed::northward_wind, {0, 0}).hours_at_point();
  EXPECT_EQ(text(opposite.wind_speed), "5 5~ 5");
  EXPECT_TRUE(opposite.wind_from_direction.is_missing(1));
}

TEST(Humidity, BecomesDewPointBeforeItIsInterpolated) {
  // Dew point of 30 degC and 30 %: 10.557 degC; of 20 degC and 80 %: 16.448 degC (values of the MetPy tests).
  const auto h = NativeRun({0, 2}).field(Fed::air_temperature, {30, 20}).field(Fed::relative_humidity, {30, 80}).hours_at_point();
  EXPECT_NEAR(static_cast<double>(h.dew_point_temperature[0]), 10.557, 0.02);
  EXPECT_NEAR(static_cast<double>(h.dew_point_temperature[2]), 16.448, 0.02);
  EXPECT_NEAR(static_cast<double>(h.dew_point_temperature[1]), (10.557 + 16.448) / 2, 0.02);
  EXPECT_EQ(h.dew_point_temperature.flags(1), flag::kInterpolated);
  const auto faulty =
      NativeRun({0, 1}).field(Fed::air_temperature, {30, 20}).field(Fed::relative_humidity, {kGap, 103}).hours_at_point();
  EXPECT_TRUE(faulty.dew_point_temperature.is_missing(0));
  EXPECT_NEAR(static_cast<double>(faulty.dew_point_temperature[1]), 20, 1e-4);
  // Specific humidity 0.00573 at 950 hPa is a vapour pressure of 8.7215 hPa and a dew point of 5 degC (atmosphere notes 1.2).
  const auto specific = NativeRun({0})
                            .field(Fed::air_temperature, {30})
                            .field(Fed::specific_humidity, {0.00573f})
                            .field(Fed::surface_pressure, {950})
                            .hours_at_point();
  EXPECT_NEAR(static_cast<double>(specific.dew_point_temperature[0]), 5, 0.02);
}

TEST(Radiation, FollowsTheClearSkyKeepsTheMeanAndIsZeroByNight) {
  // Dawn at 152.6 E on 30 March is near 20 UTC; the night lies before.
  const auto h = NativeRun({18, 24}).field(Fed::shortwave_radiation, {0, 200}, Accumulation::none, true).hours_at_point();
  ASSERT_EQ(h.shortwave_radiation.size(), 7u);
  double sum = 0;
  for (std::size_t i = 0; i < 6; ++i) sum += static_cast<double>(h.shortwave_radiation[i]);
  EXPECT_NEAR(sum / 6, 200, 0.01);
  EXPECT_EQ(h.shortwave_radiation[0], 0.0f);
  for (std::size_t i = 2; i < 5; ++i) EXPECT_LT(h.shortwave_radiation[i], h.shortwave_radiation[i + 1]);
  const auto energy =
      NativeRun({0, 1, 2}).field(Fed::shortwave_radiation, {0, 1.8e6f, 3.6e6f}, Accumulation::since_start).hours_at_point();
  EXPECT_EQ(text(energy.shortwave_radiation), "500 500 -");
}

TEST(Gust, IsHeldAsABoundOverItsInterval) {
  const auto h = NativeRun({0, 3, 6}).field(Fed::wind_gust, {0, 40, 60}, Accumulation::none, true).hours_at_point();
  EXPECT_EQ(text(h.wind_gust), "40~ 40~ 40~ 60~ 60~ 60~ -");
  const auto instants = NativeRun({0, 3}).field(Fed::wind_gust, {30, 50}).hours_at_point();
  EXPECT_EQ(text(instants.wind_gust), "30 50~ 50~ 50");
}

}  // namespace
}  // namespace hakea::ingest
