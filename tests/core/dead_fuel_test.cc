// Dead fuel of the time-lag classes and the hourly code along the hours of a unit, and fuels that are open to the sky.
#include <gtest/gtest.h>

#include <cmath>

#include "core/fire/fosberg.h"
#include "core/moisture/equilibrium.h"
#include "core/moisture/heath.h"
#include "core/moisture/litter.h"
#include "core/moisture/simple.h"
#include "core/moisture/time_lag.h"
#include "tests/core/unit_hours_builder.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

const LocalDate kDay = date(2027, 3, 30);

UnitHours constant_hours(const UnitTraits& unit, std::size_t count, double t, double h) {
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), count);
  for (std::size_t i = 0; i < count; ++i) {
    hours["air_temperature"].set(i, t);
    hours["relative_humidity"].set(i, h);
    hours["precipitation_amount"].set(i, 0);
  }
  return hours;
}

struct FuelOfClass {
  const char* key;
  double lag_h;
};
constexpr std::array<FuelOfClass, 3> kClasses{
    {{"dead_fuel_moisture_1h", 1}, {"dead_fuel_moisture_10h", 10}, {"dead_fuel_moisture_100h", 100}}};

TEST(DeadFuel, LosesAnEthOfItsExcessInItsTimeLag) {
  const UnitTraits unit = forest_unit();
  for (const auto& [key, lag] : kClasses) {
    UnitHours hours = constant_hours(unit, 240, 20, 50);
    read(hours, key, 5, 40);
    compute_all(hours);
    const double drying = static_cast<double>(hours["equilibrium_moisture_drying"][5]);
    const auto later = static_cast<std::size_t>(5 + lag);
    EXPECT_NEAR(hours[key][later], drying + (40 - drying) * std::exp(-1), 1e-4) << key;
    EXPECT_EQ(hours[key].flags(5), flag::kReading);
    EXPECT_EQ(hours[key].flags(later), 0);
  }
}

TEST(DeadFuel, IsWettedByRainInFourteenTimeLags) {
  const UnitTraits unit = forest_unit();
  for (const auto& [key, lag] : kClasses) {
    UnitHours hours = constant_hours(unit, 48, 20, 50);
    read(hours, key, 5, 10);
    for (std::size_t i = 5; i < 15; ++i) hours["precipitation_amount"].set(i, 1000);  // as fast as it can
    compute_all(hours);
    EXPECT_NEAR(hours[key][15], 250 - 240 * std::exp(-10 / (14 * lag)), 1e-3) << key;
  }
}

TEST(DeadFuel, StartsAtEquilibriumAndIsSpinningUp) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 24 * 25);
  compute_all(hours);
  for (const auto& [key, lag] : kClasses) {
    const double between = (static_cast<double>(hours["equilibrium_moisture_drying"][0]) +
                            static_cast<double>(hours["equilibrium_moisture_wetting"][0])) /
                           2;
    EXPECT_NEAR(hours[key][0], between, 1e-5);
    EXPECT_EQ(hours[key].flags(119), flag::kSpinUp);
    EXPECT_EQ(hours[key].flags(120), lag < 100 ? 0 : flag::kSpinUp);
    EXPECT_EQ(hours[key].flags(500), 0);
  }
  EXPECT_EQ(hours["hourly_ffmc"].flags(119), flag::kSpinUp);
  EXPECT_EQ(hours["hourly_ffmc"].flags(120), 0);
}

TEST(DeadFuel, SlowerClassesSwingLess) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 24 * 8);
  compute_all(hours);
  double last_swing = 1e9;
  for (const auto& [key, lag] : kClasses) {
    float low = 1e9F, high = 0;
    for (std::size_t i = 24 * 6; i < 24 * 7; ++i) {
      low = std::min(low, hours[key][i]);
      high = std::max(high, hours[key][i]);
    }
    EXPECT_LT(static_cast<double>(high - low), last_swing) << key;
    last_swing = static_cast<double>(high - low);
  }
}

// The published daily step on the extremes of a rain day, its daylight and its hours of rain.
TEST(HundredHourDays, AreMadeOfTheRainDayThatHasEnded) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 24 * 30);
  read(hours, "dead_fuel_moisture_100h_daily", 30, 15);
  for (std::size_t i = 24; i < 48; ++i) hours["precipitation_amount"].set(i, i < 30 ? 0.3 : 0);
  compute_all(hours);
  const Column& m = hours["dead_fuel_moisture_100h_daily"];
  EXPECT_EQ(m.why(23), Reason::gap);
  EXPECT_EQ(m.flags(24), flag::kSpinUp);
  EXPECT_EQ(m[47], 15);
  EXPECT_EQ(m.flags(47), flag::kReading);
  float warmest = -99, coldest = 99, driest = 100, dampest = 0;
  for (std::size_t i = 24; i < 48; ++i) {
    warmest = std::max(warmest, hours["air_temperature"][i]);
    coldest = std::min(coldest, hours["air_temperature"][i]);
    driest = std::min(driest, hours["relative_humidity"][i]);
    dampest = std::max(dampest, hours["relative_humidity"][i]);
  }
  const auto air = [](float t, float h) {
    return AirAndHumidity{Celsius(static_cast<double>(t)), Percent(static_cast<double>(h))};
  };
  const TimeLagDay day{air(warmest, driest), air(coldest, dampest), Hours(11.75),
                       Hours(6)};  // 31 March at 37 S, as almanacs have it
  EXPECT_NEAR(m[48], hundred_hour_step(Percent(15), day).value(), 0.02);
  EXPECT_EQ(m.flags(48), 0);
}

TEST(HourlyCode, TakesTheEnteredDailyCodeAtItsNoonAndIsFlaggedForADay) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 48);
  hours.initial_state.emplace();
  hours.initial_state->as_of = kDay;
  hours.initial_state->ffmc = One(60);
  compute_all(hours);
  EXPECT_EQ(hours["hourly_ffmc"][3], 60);
  EXPECT_EQ(hours["hourly_ffmc"].flags(3), flag::kSpinUp);
  EXPECT_EQ(hours["hourly_ffmc"].flags(27), 0);
}

TEST(HourlyCode, IsKeptOverAShortGapAndFlagged) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 200);
  lose(hours, "wind_speed", 150, 153);
  compute_all(hours);
  EXPECT_EQ(hours["hourly_ffmc"].why(151), Reason::gap);
  EXPECT_EQ(hours["hourly_ffmc"].flags(153), flag::kSpinUp);
  EXPECT_FALSE(hours["dead_fuel_moisture_10h"].is_missing(151)) << "needs no wind";
}

TEST(LitterMoisture, OfOneHourFuelInTheOpenNeedsNoParameters) {
  const UnitTraits unit = open_unit("fm1", MoistureModel::time_lag);
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 48);
  compute_all(hours);
  bool dries = false;
  for (std::size_t i = 0; i < 48; ++i) {
    ASSERT_FALSE(hours["litter_moisture"].is_missing(i)) << i;
    EXPECT_LE(hours["litter_moisture"][i], hours["dead_fuel_moisture_1h"][i]) << i;
    dries = dries || hours["litter_moisture"][i] < hours["dead_fuel_moisture_1h"][i] - 1;
  }
  EXPECT_TRUE(dries) << "the sun is on it";
  EXPECT_EQ(hours["litter_moisture_sheltered"].why(0), Reason::not_applicable);
}

TEST(LitterMoisture, OfAnOpenUnitFollowsTheWindOverAnOpenBed) {
  UnitTraits deep = open_unit("fm4", MoistureModel::time_lag), shallow = deep;
  deep.fuel.height = Metres(1.8);
  shallow.fuel.height = Metres(0.06);
  UnitHours in_deep = fair_hours(deep, nine_on(deep, kDay), 30), in_shallow = fair_hours(shallow, nine_on(deep, kDay), 30);
  compute_all(in_deep);
  compute_all(in_shallow);
  EXPECT_GT(in_deep["litter_moisture"][27], in_shallow["litter_moisture"][27]) << "more wind, less warming";
}

TEST(LitterMoisture, OfMalleeAndButtongrassIsTheirOwn) {
  for (const auto& [model, key] : {std::pair{MoistureModel::mallee_heath, "mallee_heath_moisture"},
                                   std::pair{MoistureModel::buttongrass, "buttongrass_moisture"}}) {
    const UnitTraits unit = open_unit("other", model);
    UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 72);
    enter_last_rain(hours, 100, 5);
    hours["precipitation_amount"].set(10, 4);
    hours["precipitation_amount"].set_missing(65, Reason::gap);
    compute_all(hours);
    EXPECT_EQ(hours["litter_moisture"][20], hours[key][20]);
    EXPECT_GT(hours[key][11], hours[key][10] + 55) << "the rain of the hour before";
    EXPECT_EQ(hours["litter_moisture"].why(66), Reason::gap);
    EXPECT_EQ(hours["heath_moisture"].why(0), Reason::no_model);
  }
}

TEST(LitterRegression, FollowsTheSunOfTheUnitAndIsFlaggedAfterRain) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = constant_hours(unit, 96, 25, 30);
  hours["precipitation_amount"].set(2, 5);
  for (std::size_t i = 0; i < 96; ++i) hours["shortwave_radiation"].set(i, i % 24 >= 1 && i % 24 <= 6 ? 700 : 100);
  compute_all(hours);
  const Column& m = hours["litter_moisture_regression"];
  EXPECT_NEAR(m[5], 6.0125, 1e-4);        // 14:00, sunny
  EXPECT_NEAR(m[24 + 22], 7.5450, 1e-4);  // 07:00
  EXPECT_NEAR(m[24 + 15], 7.8125, 1e-4);  // 24:00
  EXPECT_EQ(m.flags(5), flag::kOutOfDomain);
  EXPECT_EQ(m.flags(60), 0);
  EXPECT_EQ(hours["mcarthur_litter_moisture"].flags(60), 0);
  UnitTraits grass = open_unit("grassland", MoistureModel::grass);
  UnitHours other = fair_hours(grass, nine_on(grass, kDay), 4);
  compute_all(other);
  EXPECT_EQ(other["litter_moisture_regression"].why(0), Reason::not_applicable);
}

TEST(GrassIndices, OfEachMarkStandForGrassOnly) {
  UnitTraits unit = open_unit("grassland", MoistureModel::grass);
  unit.fuel.load = TonnesPerHectare(4.5);
  unit.fuel.curing = Percent(90);
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 6);
  compute_all(hours);
  for (const char* key : {"gfdi", "gfdi_mark3", "gfdi_mark5"}) EXPECT_FALSE(hours[key].is_missing(3)) << key;
  EXPECT_NE(hours["gfdi"][3], hours["gfdi_mark5"][3]);
  unit.fuel.curing = Percent(40);
  UnitHours green = fair_hours(unit, nine_on(unit, kDay), 6);
  compute_all(green);
  for (const char* key : {"gfdi", "gfdi_mark3", "gfdi_mark5"}) EXPECT_EQ(green[key].flags(3), flag::kOutOfDomain) << key;
}

TEST(MeasuresOfAir, MissingInMissingOut) {
  const AirAndHumidity no_air{Celsius::missing(), Percent(40)}, no_humidity{Celsius(20), Percent::missing()};
  for (const AirAndHumidity& air : {no_air, no_humidity}) {
    EXPECT_TRUE(simard_equilibrium_moisture(air).is_missing());
    EXPECT_TRUE(nelson_equilibrium_moisture(air).is_missing());
    EXPECT_TRUE(fuel_moisture_index(air).is_missing());
    EXPECT_TRUE(mcarthur_litter_moisture(air).is_missing());
    EXPECT_TRUE(heath_moisture(air, true, {Millimetres(0), Hours(50)}).is_missing());
    EXPECT_TRUE(hundred_hour_step(Percent(10), {air, {Celsius(10), Percent(90)}, Hours(12), Hours(0)}).is_missing());
  }
  EXPECT_TRUE(buttongrass_moisture(Percent(50), Celsius::missing(), {Millimetres(0), Hours(50)}).is_missing());
  EXPECT_TRUE(buttongrass_moisture(Percent(50), Celsius(5), {Millimetres::missing(), Hours(50)}).is_missing());
  EXPECT_TRUE(buttongrass_moisture(Percent(50), Celsius(5), {Millimetres(2), Hours::missing()}).is_missing());
  EXPECT_TRUE(moisture_of_deficit(Hectopascals::missing()).is_missing());
  EXPECT_TRUE(fosberg_index(Percent::missing(), KilometresPerHour(20)).is_missing());
  EXPECT_TRUE(fosberg_index(Percent(5), KilometresPerHour::missing()).is_missing());
}

TEST(MeasuresOfAir, AreDrierInDrierAir) {
  const auto falls = [](auto measure, const char* what) {
    double last = 1e9;
    for (double h = 100; h >= 1; h -= 3) {
      const double m = measure(AirAndHumidity{Celsius(25), Percent(h)});
      EXPECT_TRUE(std::isfinite(m)) << what << h;
      EXPECT_LE(m, last + 0.01) << what << h;
      last = m;
    }
  };
  falls([](AirAndHumidity a) { return simard_equilibrium_moisture(a).value(); }, "simard");
  falls([](AirAndHumidity a) { return nelson_equilibrium_moisture(a).value(); }, "nelson");
  falls([](AirAndHumidity a) { return fuel_moisture_index(a).value(); }, "index");
  falls([](AirAndHumidity a) { return heath_moisture(a, false, {Millimetres(0), Hours(9)}).value(); }, "heath");
  falls([](AirAndHumidity a) { return mallee_heath_moisture(a, true, {Millimetres(0), Hours(9)}).value(); }, "mallee");
  falls([](AirAndHumidity a) { return mcarthur_litter_moisture(a).value(); }, "meter");
}

TEST(Fosberg, RisesWithWindAndFallsWithMoisture) {
  for (double m = 0; m < 30; m += 3)
    for (double v = 0; v < 60; v += 10) {
      EXPECT_LE(fosberg_index(Percent(m), KilometresPerHour(v)), fosberg_index(Percent(m), KilometresPerHour(v + 10)));
      EXPECT_GE(fosberg_index(Percent(m), KilometresPerHour(v)), fosberg_index(Percent(m + 3), KilometresPerHour(v)));
    }
}

}  // namespace
}  // namespace hakea::test
