#include "core/air/profile.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/air/inversion.h"
#include "core/air/thermo.h"
#include "core/base/numbers.h"
#include "core/weather/humidity.h"
#include "tests/support/sounding.h"

namespace hakea::core {
namespace {

using test::ground_and_levels;
using test::read_sounding;

TEST(AirColumn, RowsBelowTheGroundAreDropped) {
  const AirColumn c = test::column_of(read_sounding("c"));
  EXPECT_EQ(c.size(), 8u);
  EXPECT_DOUBLE_EQ(c.pressure_hpa[0], 930);
  EXPECT_DOUBLE_EQ(c.pressure_hpa[1], 925);
}

TEST(AirColumn, HeightsAndThetaOfTheHandMadeMorningAreReproduced) {  // made by hand, heights counted from the 2 m point at z = 0
  const AirColumn b = test::column_of(read_sounding("b"));
  const std::vector<double> z{2, 215.3, 438.1, 666.7, 1139.4, 1634.5, 2705.0};
  const std::vector<double> theta{283.191, 289.360, 292.186, 293.040, 294.094, 295.395, 299.686};
  ASSERT_EQ(b.size(), z.size());
  for (std::size_t i = 0; i < z.size(); ++i) {
    EXPECT_NEAR(b.height_m[i], z[i], 0.06) << i;
    EXPECT_NEAR(b.theta_v_k[i], theta[i], 0.0006) << i;
  }
}

TEST(AirColumn, ThetaVOfTheHandMadeTerrainCaseIsReproduced) {
  const AirColumn c = test::column_of(read_sounding("c"));
  const std::vector<double> z{2, 47.5, 287.3, 531.9, 781.8, 1298.3, 1841.2, 2415.3};
  const std::vector<double> theta_v{307.874, 306.861, 306.986, 307.058, 307.290, 307.784, 310.507, 312.904};
  for (std::size_t i = 0; i < z.size(); ++i) {
    EXPECT_NEAR(c.height_m[i], z[i], 0.06) << i;
    EXPECT_NEAR(c.theta_v_k[i], theta_v[i], 0.0006) << i;
  }
}

// The columns printed with a real sounding (MetPy staticdata, may4_sounding.txt): theta to 0.08 K, theta_v to 0.09 K, heights
// by the hypsometric equation to 13 m (the printed 931.3 hPa height is itself off by 10 m).
TEST(AirColumn, PrintedColumnsOfASoundingAreReproduced) {
  const auto table = read_sounding("s3");
  auto made = ground_and_levels(table);
  AirColumn with_heights, hypsometric;
  ASSERT_EQ(prepare(made.levels, made.surface, with_heights), ColumnFault::none);
  for (Level& level : made.levels) level.height_m = kNaN;
  ASSERT_EQ(prepare(made.levels, made.surface, hypsometric), ColumnFault::none);
  ASSERT_EQ(with_heights.size() + 1, table.at("pressure_hpa").size());
  for (std::size_t i = 0; i < with_heights.size(); ++i) {
    EXPECT_NEAR(with_heights.theta_v_k[i], table.at("theta_v_k")[i + 1], 0.09) << i;
    EXPECT_NEAR(potential_temperature(Hectopascals(with_heights.pressure_hpa[i]), Kelvin(with_heights.temperature_k[i])).value(),
                table.at("theta_k")[i + 1], 0.08)
        << i;
    EXPECT_NEAR(hypsometric.height_m[i], table.at("height_asl_m")[i + 1] - 345, 13) << i;
    const double e = saturation_vapour_pressure(Celsius(table.at("dew_point_c")[i + 1])).value();
    EXPECT_NEAR(1000 * mixing_ratio(Hectopascals(e), Hectopascals(with_heights.pressure_hpa[i])),
                table.at("mixing_ratio_g_kg")[i + 1], 0.1)
        << i;
  }
}

TEST(AirColumn, WithoutSurfacePressureTheGroundIsFoundBetweenTheLevels) {
  auto made = ground_and_levels(read_sounding("s3"));
  made.levels[0].temperature_c = 24;  // the 1000 hPa row at -352 m has a temperature now, as models extrapolate one
  const double known = made.surface.pressure.value();
  made.surface.pressure = Hectopascals(kNaN);
  AirColumn column;
  ASSERT_EQ(prepare(made.levels, made.surface, column), ColumnFault::none);
  EXPECT_NEAR(column.pressure_hpa[0], known, 1.5);
  EXPECT_GT(column.height_m[1], 2);
}

TEST(AirColumn, WithoutHumidityAloftItIsDryThroughout) {
  auto made = ground_and_levels(read_sounding("c"));
  made.levels[3].vapour_pressure_hpa = kNaN;
  AirColumn column;
  ASSERT_EQ(prepare(made.levels, made.surface, column), ColumnFault::none);
  EXPECT_TRUE(column.is_dry);
  EXPECT_NEAR(column.theta_v_k[0], potential_temperature(Hectopascals(930), Kelvin(300.15)).value(), 1e-9);
}

TEST(AirColumn, CannotBeUsedWithoutGroundAirLevelsOrOrder) {
  const auto good = ground_and_levels(read_sounding("c"));
  AirColumn column;
  auto bad = good;
  bad.surface.temperature = Celsius(kNaN);
  EXPECT_EQ(prepare(bad.levels, bad.surface, column), ColumnFault::no_surface);
  EXPECT_EQ(prepare({}, good.surface, column), ColumnFault::no_levels);
  bad = good;
  bad.surface.pressure = Hectopascals(kNaN);  // and no heights either
  EXPECT_EQ(prepare(bad.levels, bad.surface, column), ColumnFault::no_surface);
  bad = ground_and_levels(read_sounding("s3"));
  std::swap(bad.levels[4].height_m, bad.levels[5].height_m);
  EXPECT_EQ(prepare(bad.levels, bad.surface, column), ColumnFault::not_monotonic);
}

TEST(AirColumn, AWideGapBelow700HectopascalsIsRefusedAndOneAboveIsNot) {
  auto made = ground_and_levels(read_sounding("c"));
  made.levels.push_back({500, kNaN, -12, 1, 0, 0});  // 700 to 500 hPa: beyond
  AirColumn column;
  EXPECT_EQ(prepare(made.levels, made.surface, column), ColumnFault::none);
  for (const double p : {925.0, 900.0, 875.0, 850.0, 800.0, 750.0})
    std::erase_if(made.levels, [&](const Level& l) { return l.pressure_hpa == p; });
  EXPECT_EQ(prepare(made.levels, made.surface, column), ColumnFault::gap);
}

TEST(AirColumn, AJumpOfThetaIsRefused) {
  auto made = ground_and_levels(read_sounding("c"));
  made.levels[4].temperature_c = -273.15 + 300;
  AirColumn column;
  ASSERT_EQ(prepare(made.levels, made.surface, column), ColumnFault::none);
  made.levels[4].temperature_c = 21.1 - 60;
  EXPECT_EQ(prepare(made.levels, made.surface, column), ColumnFault::jump);
}

TEST(Interpolation, TurnsTheWindWithoutPassingThroughACalm) {
  const std::vector<Level> a{{850, 1500, 10, 5, 5, 0}}, b{{850, 1500, 14, 7, 0, 5}};
  std::vector<Level> half(1);
  interpolate(a, b, 0.5, half);
  EXPECT_DOUBLE_EQ(half[0].temperature_c, 12);
  EXPECT_DOUBLE_EQ(half[0].vapour_pressure_hpa, 6);
  EXPECT_NEAR(std::hypot(half[0].u_ms, half[0].v_ms), 5, 1e-12);
  EXPECT_NEAR(half[0].u_ms, half[0].v_ms, 1e-12);
}

TEST(SurfaceInversion, OneShallowSagIsPassedOverAndASecondEndsIt) {
  const auto column = [](std::vector<double> t) {
    AirColumn c;
    c.temperature_k = std::move(t);
    c.height_m = {2, 60, 120, 180, 240, 300};
    c.theta_v_k = {280, 282, 283, 285, 287, 288};
    return c;
  };
  EXPECT_DOUBLE_EQ(surface_inversion(column({280, 282, 281.8, 283, 284, 283})).top.value(), 240);
  EXPECT_DOUBLE_EQ(surface_inversion(column({280, 282, 281.8, 283, 282.9, 290})).top.value(), 180);
  EXPECT_DOUBLE_EQ(surface_inversion(column({280, 282, 281, 283, 284, 285})).top.value(), 60);
  EXPECT_FALSE(surface_inversion(column({280, 280.9, 280, 279, 278, 277})).is_present());  // less than 1 K
  EXPECT_DOUBLE_EQ(surface_inversion(column({280, 281, 280, 279, 278, 277})).strength_k, 1);
}

}  // namespace
}  // namespace hakea::core
