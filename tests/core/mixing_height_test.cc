#include "core/air/mixing_height.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <random>

#include "core/air/air_hour.h"
#include "core/air/thermo.h"
#include "core/base/numbers.h"
#include "core/weather/elevation.h"
#include "core/weather/humidity.h"
#include "tests/support/case_file.h"
#include "tests/support/sounding.h"

namespace hakea::core {
namespace {

using test::GroundAndLevels;

GroundAndLevels terrain_case() {
  GroundAndLevels made = test::ground_and_levels(test::read_sounding("c"));
  for (Level& level : made.levels) {
    level.u_ms = 6;
    level.v_ms = 0;
  }
  made.surface.wind_speed = to<KilometresPerHour>(MetresPerSecond(4));
  made.surface.wind_from_direction = Degrees(270);
  made.surface.solar_elevation = Degrees(50);
  made.surface.latitude = Degrees(-35);
  return made;
}

GroundAndLevels night_case() {
  GroundAndLevels made = test::ground_and_levels(test::read_sounding("b"));
  for (Level& level : made.levels) {
    level.u_ms = 6;
    level.v_ms = 0;
  }
  made.surface.wind_speed = to<KilometresPerHour>(MetresPerSecond(2));
  made.surface.wind_from_direction = Degrees(270);
  made.surface.solar_elevation = Degrees(-30);
  made.surface.latitude = Degrees(-35);
  made.surface.cloud = Percent(0);
  return made;
}

MixingHeight mixing(const GroundAndLevels& made) {
  AirColumn column;
  return reduce_air(made.levels, made.surface, column).mixing;
}

// ---- The decision

TEST(MixingHeight, ByDayOverHeatedGroundIsTheParcels) {
  const MixingHeight h = mixing(terrain_case());
  EXPECT_EQ(h.method, MixingMethod::parcel);
  EXPECT_NEAR(h.height.value(), 1316.3, 0.2);  // made by hand
  EXPECT_FALSE(h.methods_disagree);
}

TEST(MixingHeight, ByNightIsTheFeedsOwn) {
  auto made = terrain_case();
  made.surface.solar_elevation = Degrees(5);
  made.surface.model_mixing_height = Metres(140);
  EXPECT_EQ(mixing(made).method, MixingMethod::model);
  EXPECT_DOUBLE_EQ(mixing(made).height.value(), 140);
}

TEST(MixingHeight, WithoutAFeedsOwnFallsBackOnBulkRichardson) {
  auto made = terrain_case();
  made.surface.solar_elevation = Degrees(5);
  const MixingHeight h = mixing(made);
  EXPECT_EQ(h.method, MixingMethod::bulk_richardson);
  EXPECT_GT(h.height.value(), 1300);
}

TEST(MixingHeight, OfMethodsThatDisagreeTheSmallerStands) {
  auto made = terrain_case();
  made.surface.model_mixing_height = Metres(600);  // 716 m and 54 % less
  EXPECT_EQ(mixing(made).method, MixingMethod::model);
  EXPECT_TRUE(mixing(made).methods_disagree);
  made.surface.model_mixing_height = Metres(3000);
  EXPECT_EQ(mixing(made).method, MixingMethod::parcel);
  EXPECT_TRUE(mixing(made).methods_disagree);
  made.surface.model_mixing_height = Metres(900);  // 416 m, but 32 %
  EXPECT_EQ(mixing(made).method, MixingMethod::parcel);
  EXPECT_FALSE(mixing(made).methods_disagree);
}

TEST(MixingHeight, ThreeLevelsBelowThreeKilometresAreTooFew) {
  auto made = terrain_case();
  std::erase_if(made.levels,
                [](const Level& l) { return l.pressure_hpa != 925 && l.pressure_hpa != 850 && l.pressure_hpa != 700; });
  EXPECT_TRUE(mixing(made).height.is_missing());
  EXPECT_EQ(mixing(made).method, MixingMethod::none);
  made.surface.model_mixing_height = Metres(900);
  EXPECT_EQ(mixing(made).method, MixingMethod::model);
}

TEST(MixingHeight, IsMissingWithNeitherLevelsNorAFeedsOwnEvenByNight) {
  auto made = night_case();
  made.levels.clear();
  EXPECT_TRUE(mixing(made).height.is_missing());
}

TEST(MixingHeight, BelowTheLowestLevelByNightIsMechanicalAndUnderTheInversion) {
  auto made = night_case();
  const MixingHeight h = mixing(made);
  EXPECT_EQ(h.method, MixingMethod::mechanical);
  EXPECT_TRUE(h.below_lowest_level);
  EXPECT_GE(h.height.value(), 50);
  EXPECT_LT(h.height.value(), 65);  // light wind, clear night
  made.surface.wind_speed = KilometresPerHour(0);
  EXPECT_DOUBLE_EQ(mixing(made).height.value(), 50);  // calm: the floor
  made.surface.wind_speed = to<KilometresPerHour>(MetresPerSecond(6));
  EXPECT_LE(mixing(made).height.value(), 438.2);  // the inversion's top
  EXPECT_GT(mixing(made).height.value(), 150);
}

TEST(MixingHeight, ByDayUnderAnUnbrokenInversionIsNotMechanical) {
  auto made = night_case();
  made.surface.solar_elevation = Degrees(20);
  const MixingHeight h = mixing(made);
  EXPECT_EQ(h.method, MixingMethod::bulk_richardson);
  EXPECT_TRUE(h.below_lowest_level);
}

TEST(MixingHeight, BeyondTheTopLevelIsAtLeast) {
  auto made = terrain_case();
  made.surface.temperature = Celsius(40);
  const MixingHeight h = mixing(made);
  EXPECT_TRUE(h.at_least);
  EXPECT_NEAR(h.height.value(), 2415.3, 2);  // the top level, a little higher in warmer air
}

TEST(MixingHeight, OfSeveralCrossingsIsTheLowestAndTheHighestIsKept) {
  const std::vector<double> z{2, 500, 1000, 1500, 2000}, theta{300, 299, 301, 299, 303};
  const ParcelHeight h = parcel_height(z, theta, Kelvin(300));
  EXPECT_DOUBLE_EQ(h.height.value(), 750);
  EXPECT_DOUBLE_EQ(h.highest.value(), 1625);
}

TEST(MixingHeight, WithoutWindAloftHasNoRichardsonNumber) {
  auto made = terrain_case();
  made.surface.solar_elevation = Degrees(0);
  made.levels[3].u_ms = kNaN;
  EXPECT_TRUE(mixing(made).height.is_missing());
}

// A unit 500 m above the model's surface: temperature by 6.5 K/km, and the mixing height counted from the unit.
TEST(HardCase, H10UnitHighAboveTheModelsGroundMayStandAboveTheMixedLayer) {
  auto made = terrain_case();
  const ElevationStep step{Metres(650), Metres(1150)};
  const Metres over_ground = mixing(made).height;
  EXPECT_NEAR(mixing_height_above_unit(over_ground, step).value(), 816.3, 0.2);
  made.surface.solar_elevation = Degrees(-10);
  made.surface.model_mixing_height = Metres(180);
  const Metres by_night = mixing_height_above_unit(mixing(made).height, step);
  EXPECT_DOUBLE_EQ(by_night.value(), -320);
  EXPECT_DOUBLE_EQ(ventilation_index(by_night, MetresPerSecond(6)).value(), 0);
}

// ---- Properties, over the hand-made profile and random ones. The seed is fixed.

std::vector<GroundAndLevels> many_profiles() {
  std::vector<GroundAndLevels> all{terrain_case()};
  std::mt19937 random(3101);
  std::uniform_real_distribution<double> noise(-1, 1);
  for (int n = 0; n < 200; ++n) {
    GroundAndLevels made = terrain_case();
    for (Level& level : made.levels) level.temperature_c += 2 * noise(random);
    made.surface.temperature = Celsius(made.surface.temperature.value() + 3 * noise(random));
    all.push_back(made);
  }
  return all;
}

ParcelHeight parcel(const GroundAndLevels& made) {
  AirColumn column;
  EXPECT_EQ(prepare(made.levels, made.surface, column), ColumnFault::none);
  return parcel_height(column.height_m, column.theta_v_k, Kelvin(column.theta_v_k[0]));
}

RichardsonHeight richardson(const GroundAndLevels& made) {
  AirColumn column;
  EXPECT_EQ(prepare(made.levels, made.surface, column), ColumnFault::none);
  return bulk_richardson_height(column.height_m, column.theta_v_k, column.u_ms, column.v_ms);
}

TEST(ParcelMethod, NeverFallsAsTheGroundWarms) {
  for (GroundAndLevels made : many_profiles()) {
    for (Level& level : made.levels)
      level.height_m = thickness(Hectopascals(930), Hectopascals(level.pressure_hpa), Kelvin(293)).value();
    double last = 0;
    for (double t = 20; t < 37; t += 0.25) {
      made.surface.temperature = Celsius(t);
      const double h = parcel(made).height.value();
      ASSERT_GE(h, last) << t;
      last = h;
    }
  }
}

TEST(ParcelMethod, IgnoresAConstantAddedToEveryTheta) {
  for (const GroundAndLevels& made : many_profiles()) {
    AirColumn column;
    ASSERT_EQ(prepare(made.levels, made.surface, column), ColumnFault::none);
    const double h = parcel_height(column.height_m, column.theta_v_k, Kelvin(column.theta_v_k[0])).height.value();
    for (double& theta : column.theta_v_k) theta += 7;
    EXPECT_NEAR(parcel_height(column.height_m, column.theta_v_k, Kelvin(column.theta_v_k[0])).height.value(), h, 1e-8);
  }
}

TEST(ParcelMethod, IgnoresALevelPutInOnTheLine) {
  for (const GroundAndLevels& made : many_profiles()) {
    AirColumn c;
    ASSERT_EQ(prepare(made.levels, made.surface, c), ColumnFault::none);
    const double h = parcel_height(c.height_m, c.theta_v_k, Kelvin(c.theta_v_k[0])).height.value();
    for (std::size_t i = 2; i < c.size(); ++i) {
      auto z = c.height_m, theta = c.theta_v_k;
      const auto at = static_cast<std::ptrdiff_t>(i);
      z.insert(z.begin() + at, std::lerp(z[i - 1], z[i], 0.3));
      theta.insert(theta.begin() + at, std::lerp(theta[i - 1], theta[i], 0.3));
      EXPECT_NEAR(parcel_height(z, theta, Kelvin(theta[0])).height.value(), h, 1e-6);
    }
  }
}

TEST(MixingMethods, IgnoreTheOrderOfLevels) {
  std::mt19937 random(7);
  for (GroundAndLevels made : many_profiles()) {
    const double p = parcel(made).height.value(), r = richardson(made).height.value();
    std::shuffle(made.levels.begin(), made.levels.end(), random);
    EXPECT_EQ(parcel(made).height.value(), p);
    EXPECT_EQ(richardson(made).height.value(), r);
  }
}

TEST(MixingMethods, IgnoreRowsBelowTheGround) {
  for (GroundAndLevels made : many_profiles()) {
    const double p = parcel(made).height.value(), r = richardson(made).height.value();
    for (const Level& below : {Level{1000, kNaN, 35, 20, 9, 9}, Level{975, kNaN, -20, 1, 0, 0}, Level{931, kNaN, 50, 1, 30, 0},
                               Level{950, kNaN, kNaN, kNaN, kNaN, kNaN}})
      made.levels.push_back(below);
    EXPECT_EQ(parcel(made).height.value(), p);
    EXPECT_EQ(richardson(made).height.value(), r);
  }
}

// ---- Soundings with a published mixed layer: IGRA 2 derived parameters (NOAA NCEI), mixing height by the parcel method on
// virtual potential temperature, printed in the header of each sounding; temperatures to 0.1 K, so heights to some 15 m.

struct Published {
  std::string time;
  double mixing_height_m;  // NaN where published as missing
  GroundAndLevels air;
};

std::vector<Published> igra() {
  std::vector<Published> all;
  if (test::shared_folder().empty()) return all;
  std::ifstream in(test::shared_folder() + "/feeds/c_profile/igra2_derived_USM00070026.txt");
  const auto column = [](const std::string& line, std::size_t first) {  // eight wide, from column `first`
    const double v = std::stod(line.substr(first, 7));
    return v <= -99999 ? kNaN : v;
  };
  double foot = 0;
  for (std::string line; std::getline(in, line);) {
    if (line[0] == '#') {
      const double h = std::stod(line.substr(67, 6));
      all.push_back({line.substr(13, 13), h <= -99999 ? kNaN : h, {}});
      foot = kNaN;
      continue;
    }
    Published& sounding = all.back();
    const double p = column(line, 0) / 100, z = column(line, 16), t = column(line, 24) / 10 - 273.15, e = column(line, 72) / 1000;
    if (std::isnan(foot)) {
      foot = z;
      sounding.air.surface.temperature = Celsius(t);
      sounding.air.surface.dew_point = dew_point(Hectopascals(e));
      sounding.air.surface.pressure = Hectopascals(p);
    } else {
      sounding.air.levels.push_back({p, z - foot, t, e, 0, 0});
    }
  }
  return all;
}

TEST(PublishedMixedLayer, OfRadiosondesIsReproduced) {
  const auto soundings = igra();
  if (soundings.empty()) GTEST_SKIP() << "the shared weather files are not beside this checkout";
  std::size_t with_layer = 0, without = 0;
  for (const Published& s : soundings) {
    if (s.air.levels.empty()) continue;  // the file ends with the header of a third
    // Humidity ends below the top of the ascent; above it the air is taken as dry, which the lowest kilometres do not see.
    auto air = s.air;
    for (Level& level : air.levels)
      if (std::isnan(level.vapour_pressure_hpa)) level.vapour_pressure_hpa = 0;
    const ParcelHeight h = parcel(air);
    if (std::isnan(s.mixing_height_m)) {
      EXPECT_EQ(h.height.value(), 0) << s.time;  // the air is warmer from the first level up: deliberately no mixed layer
      ++without;
    } else {
      EXPECT_NEAR(h.height.value(), s.mixing_height_m, 15) << s.time;
      ++with_layer;
    }
  }
  EXPECT_EQ(with_layer, 1u);
  EXPECT_EQ(without, 1u);
}

}  // namespace
}  // namespace hakea::core
