// Humidity, wind, sun and elevation: edges and properties. Published values stand in tests/cases.
#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "core/weather/elevation.h"
#include "core/weather/humidity.h"
#include "core/weather/sun.h"
#include "core/weather/wind.h"

namespace hakea::core {
namespace {

using namespace std::chrono;

UtcTime utc(int y, int m, int d, int h) { return UtcTime(sys_days(year(y) / m / d)) + hours(h); }

TEST(Humidity, GoesRoundFromDewPointAndBack) {
  for (double t = -20; t <= 45; t += 5)
    for (double rh = 5; rh <= 100; rh += 5) {
      const Celsius dew = dew_point(AirAndHumidity{Celsius(t), Percent(rh)});
      EXPECT_NEAR(relative_humidity({Celsius(t), dew}).value(), rh, 1e-9) << t;
    }
}

TEST(Humidity, MissingInMissingOut) {
  EXPECT_TRUE(dew_point(AirAndHumidity{Celsius(20), Percent::missing()}).is_missing());
  EXPECT_TRUE(dew_point(AirAndHumidity{Celsius::missing(), Percent(50)}).is_missing());
  EXPECT_TRUE(relative_humidity({Celsius(20), Celsius::missing()}).is_missing());
  EXPECT_TRUE(vapour_pressure_deficit({Celsius(20), Percent::missing()}).is_missing());
  EXPECT_TRUE(plausible_humidity(Percent::missing()).is_missing());
  EXPECT_TRUE(std::isnan(mixing_ratio(Hectopascals(1000), Hectopascals(900))));
}

TEST(Humidity, H26IsHeldToAHundredAndRefusedWhereItIsAFault) {
  EXPECT_EQ(plausible_humidity(Percent(100.4)).value(), 100);
  EXPECT_EQ(plausible_humidity(Percent(105)).value(), 100);
  EXPECT_TRUE(plausible_humidity(Percent(105.1)).is_missing());
  EXPECT_TRUE(plausible_humidity(Percent(-1)).is_missing());
  EXPECT_EQ(relative_humidity({Celsius(10), Celsius(12)}).value(), 100);
  EXPECT_EQ(dew_point(AirAndHumidity{Celsius(10), Percent(102)}).value(), 10);
  EXPECT_EQ(vapour_pressure_deficit({Celsius(10), Percent(102)}).value(), 0);
}

TEST(Wind, H2MeanOf350And10IsNorth) {
  const std::array winds{Wind{KilometresPerHour(10), Degrees(350)}, Wind{KilometresPerHour(10), Degrees(10)}};
  EXPECT_NEAR(vector_mean(winds).from.value(), 360, 1e-9);
  EXPECT_NEAR(turn(Degrees(350), Degrees(10)).value(), 20, 1e-12);
  EXPECT_NEAR(turn(Degrees(10), Degrees(190)).value(), 180, 1e-12);
}

TEST(Wind, OppositeWindsOfOneSpeedCancelToCalm) {
  const std::array winds{Wind{KilometresPerHour(10), Degrees(90)}, Wind{KilometresPerHour(10), Degrees(270)}};
  EXPECT_EQ(vector_mean(winds).from.value(), 0);
  EXPECT_NEAR(vector_mean(winds).speed.value(), 0, 1e-12);
}

TEST(Wind, TurnedPastNorthStaysADirectionAndCalmStaysCalm) {
  const auto from = [](double direction, double clockwise) {
    return turned({KilometresPerHour(10), Degrees(direction)}, Degrees(clockwise)).from.value();
  };
  EXPECT_NEAR(from(350, 20), 10, 1e-12);
  EXPECT_EQ(from(340, 20), 360);
  EXPECT_NEAR(from(10, -20), 350, 1e-12);
  EXPECT_EQ(from(0, 20), 0);
}

TEST(Wind, TheLargestTurnNeedsAllThreeDirections) {
  EXPECT_NEAR(largest_turn(Degrees(10), Degrees(350), Degrees(300)).value(), 70, 1e-12);
  EXPECT_TRUE(largest_turn(Degrees(10), Degrees::missing(), Degrees(300)).is_missing());
  EXPECT_TRUE(largest_turn(Degrees(10), Degrees(300), Degrees::missing()).is_missing());
  EXPECT_TRUE(largest_turn(Degrees::missing(), Degrees(300), Degrees(300)).is_missing());
}

TEST(Sun, TrackStaysWithinTwoThousandthsOfTheSeriesAndDoesNotDependOnItsStart) {
  SunTrack whole(-37, 149), late(-37, 149);
  for (int h = 0; h < 24 * 366; h += 7) {
    const UtcTime t = utc(2027, 1, 1, 0) + hours(h) + minutes(30);
    const SunPosition exact = sun_position(t, -37, 149), along = whole.at(t);
    EXPECT_NEAR(along.elevation.value(), exact.elevation.value(), 0.002) << h;
    EXPECT_EQ(along.elevation.value(), whole.elevation_at(t).value());
    if (h > 5000) {
      EXPECT_EQ(along.elevation.value(), late.at(t).elevation.value());
      EXPECT_EQ(along.azimuth.value(), late.at(t).azimuth.value());
    }
  }
}

TEST(Sun, StaysUpOrDownBeyondThePolarCircles) {
  for (const int month : {6, 12}) {
    const LocalDate solstice = local_days(year(2027) / month / 21);
    EXPECT_FALSE(sunrise(solstice, 75, 20) || sunset(solstice, 75, 20)) << month;
  }
}

TEST(Sun, RiseAndSetStandOnTheLocalDateEastAndWestOfGreenwich) {
  for (const double lon : {-150.0, -75.0, 0.0, 75.0, 149.0, 170.0}) {
    const LocalDate date = local_days(year(2027) / 4 / 2);
    const auto rises = sunrise(date, -37, lon), sets = sunset(date, -37, lon);
    ASSERT_TRUE(rises && sets);
    const auto local = [lon](UtcTime t) { return LocalTime(t.time_since_epoch() + seconds(std::llround(lon * 240))); };
    EXPECT_EQ(floor<days>(local(*rises)), date) << lon;
    EXPECT_EQ(floor<days>(local(*sets)), date) << lon;
    EXPECT_LT(*rises, *sets);
  }
}

TEST(Sun, SouthernNorthSlopesGetMoreThanSouthSlopesAndLevelGroundGetsWhatFalls) {
  const SunPosition sun = sun_position(utc(2024, 4, 15, 3), -35.3, 149.1);
  const WattsPerSquareMetre g(600);
  EXPECT_EQ(slope_irradiance(g, sun, {Degrees(0), Degrees(0)}).value(), 600);
  // Independent script of the same chain: 713.6, 433.2, 335.9 W/m2.
  EXPECT_NEAR(slope_irradiance(g, sun, {Degrees(20), Degrees(0)}).value(), 713.6, 0.1);
  EXPECT_NEAR(slope_irradiance(g, sun, {Degrees(20), Degrees(180)}).value(), 433.2, 0.1);
  EXPECT_NEAR(slope_irradiance(g, sun, {Degrees(30), Degrees(180)}).value(), 335.9, 0.1);
  EXPECT_LT(shaded_irradiance(g, sun, {Degrees(20), Degrees(180)}).value(), 433.2);
}

TEST(Sun, EnergyStaysFiniteWhenTheSunGrazesTheGround) {
  for (double el = -1; el < 5; el += 0.1) {
    const double poa = slope_irradiance(WattsPerSquareMetre(60), {Degrees(el), Degrees(0), 1}, {Degrees(30), Degrees(0)}).value();
    EXPECT_TRUE(std::isfinite(poa)) << el;
    EXPECT_LT(poa, 500) << el;
  }
}

TEST(Elevation, H10UnitFiveHundredMetresAboveTheModelIsCoolerMoisterAndNearerTheMixingTop) {
  const ElevationStep step{Metres(400), Metres(900)};
  const AirAndDew model{Celsius(25), Celsius(10)};
  const AirAndDew unit = at_unit_elevation(model, step);
  EXPECT_NEAR(unit.air.value(), 21.75, 1e-9);
  EXPECT_NEAR(unit.dew_point.value(), 10, 1e-9);
  EXPECT_GT(relative_humidity(unit).value(), relative_humidity(model).value());
  EXPECT_NEAR(mixing_height_above_unit(Metres(1200), step).value(), 700, 1e-9);
  EXPECT_NEAR(mixing_height_above_unit(Metres(300), step).value(), -200, 1e-9);
  EXPECT_TRUE(is_large(step));
  EXPECT_FALSE(is_large({Metres(400), Metres(650)}));
}

// Model T 27, Td 9, 930 hPa at 650 m, by an independent script (not a publication).
TEST(Elevation, KeepsTheVapourAndNeverTheHumidity) {
  const AirAndDew model{Celsius(27), Celsius(9)};
  const ElevationStep down{Metres(650), Metres(480)}, up{Metres(650), Metres(900)};
  const AirAndDew low = at_unit_elevation(model, down), high = at_unit_elevation(model, up);
  EXPECT_NEAR(low.air.value(), 28.105, 1e-9);
  EXPECT_NEAR(at_unit_elevation(Hectopascals(930), model.air, down).value(), 948.14, 0.02);
  EXPECT_NEAR(relative_humidity(low).value(), 30.16, 0.02);
  EXPECT_NEAR(high.air.value(), 25.375, 1e-9);
  EXPECT_NEAR(at_unit_elevation(Hectopascals(930), model.air, up).value(), 903.84, 0.02);
  EXPECT_NEAR(relative_humidity(high).value(), 35.42, 0.02);
}

TEST(Elevation, AirCooledToItsDewPointIsSaturated) {
  const AirAndDew unit = at_unit_elevation({Celsius(12), Celsius(11)}, {Metres(100), Metres(600)});
  EXPECT_EQ(relative_humidity(unit).value(), 100);
  EXPECT_EQ(unit.dew_point.value(), unit.air.value());
}

TEST(Elevation, WhatIsMissingStaysMissing) {
  const ElevationStep step{Metres(400), Metres(900)};
  const AirAndDew unit = at_unit_elevation({Celsius(25), Celsius::missing()}, step);
  EXPECT_FALSE(unit.air.is_missing());
  EXPECT_TRUE(unit.dew_point.is_missing());
  EXPECT_TRUE(at_unit_elevation(Hectopascals::missing(), Celsius(25), step).is_missing());
  EXPECT_TRUE(mixing_height_above_unit(Metres::missing(), step).is_missing());
}

}  // namespace
}  // namespace hakea::core
