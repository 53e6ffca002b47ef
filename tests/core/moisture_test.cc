// Litter moisture: the step, and the hours of a unit.
#include <gtest/gtest.h>

#include <cmath>

#include "core/moisture/exposure.h"
#include "core/moisture/litter.h"
#include "tests/core/unit_hours_builder.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

const LocalDate kDay = date(2027, 3, 30);

TEST(LitterStep, FourQuarterHoursAreAnHour) {
  for (const double rain : {0.0, 0.3, 4.0})
    for (const double m : {4.0, 14.0, 90.0}) {
      const EquilibriumMoisture e{Percent(13.7), Percent(12)};
      Percent quarter(m);
      for (int k = 0; k < 4; ++k) quarter = litter_step(quarter, e, rain, {Hours(2)}, Hours(0.25));
      EXPECT_NEAR(quarter.value(), litter_step(Percent(m), e, rain, {Hours(2)}).value(), 1e-12);
    }
}

TEST(LitterStep, ComesToTheDryingLineFromAboveAndToTheWettingLineFromBelow) {
  const EquilibriumMoisture e = equilibrium_moisture({Celsius(20), Percent(50)});
  Percent wet(80), dry(3);
  for (int h = 0; h < 40; ++h) {
    const Percent next = litter_step(wet, e, 0, {Hours(2)});
    EXPECT_LT(next.value(), wet.value());
    wet = next;
    dry = litter_step(dry, e, 0, {Hours(2)});
  }
  EXPECT_NEAR(wet.value(), e.drying.value(), 1e-5);
  EXPECT_NEAR(dry.value(), e.wetting.value(), 1e-5);
  const Percent between(12.5);
  EXPECT_EQ(litter_step(between, e, 0, {Hours(2)}).value(), 12.5);
}

TEST(LitterStep, MissingInMissingOut) {
  const EquilibriumMoisture e{Percent(13), Percent(12)};
  EXPECT_TRUE(litter_step(Percent(10), e, std::nan(""), {Hours(2)}).is_missing());
  EXPECT_TRUE(litter_step(Percent::missing(), e, 0, {Hours(2)}).is_missing());
  EXPECT_TRUE(litter_step(Percent(10), equilibrium_moisture({Celsius::missing(), Percent(50)}), 0, {Hours(2)}).is_missing());
  EXPECT_TRUE(equilibrium_moisture({Celsius(20), Percent::missing()}).drying.is_missing());
  EXPECT_TRUE(litter_regression({Celsius(20), Percent::missing()}, {14, true, true}).is_missing());
}

TEST(Equilibrium, H27StaysFiniteAtTheEdgesAndOrdered) {
  for (double t = -40; t <= 60; t += 10)
    for (double h = 0; h <= 100; h += 5) {
      const EquilibriumMoisture e = equilibrium_moisture({Celsius(t), Percent(h)});
      EXPECT_TRUE(std::isfinite(e.drying.value()));
      EXPECT_GE(e.drying.value(), e.wetting.value());
    }
}

TEST(AirAtLitter, SunWarmsAndDriesAndWindUndoesIt) {
  const AirAndHumidity screen{Celsius(20), Percent(50)};
  EXPECT_EQ(air_at_litter(screen, WattsPerSquareMetre(0), MetresPerSecond(1)).relative_humidity.value(), 50);
  const AirAndHumidity calm = air_at_litter(screen, WattsPerSquareMetre(400), MetresPerSecond(0)),
                       windy = air_at_litter(screen, WattsPerSquareMetre(400), MetresPerSecond(3));
  EXPECT_GT(calm.air, windy.air);
  EXPECT_LT(calm.relative_humidity, windy.relative_humidity);
  EXPECT_LE(air_at_litter(screen, WattsPerSquareMetre(2000), MetresPerSecond(0)).air.value(), 50);
}

TEST(Throughfall, TheFirstOfARainStaysInTheCanopyUntilItHasDried) {
  CanopyState state{1, 0};
  const Canopy canopy{0.15, 1};
  EXPECT_NEAR(throughfall(2, canopy, state), 0.7, 1e-12);
  EXPECT_NEAR(throughfall(2, canopy, state), 1.7, 1e-12);
  for (int h = 0; h < 5; ++h) throughfall(0, canopy, state);
  EXPECT_NEAR(throughfall(2, canopy, state), 1.7, 1e-12);
  for (int h = 0; h < 6; ++h) throughfall(0, canopy, state);
  EXPECT_NEAR(throughfall(2, canopy, state), 0.7, 1e-12);
}

TEST(LitterRegression, IsBlendedRoundNoonAndNotAtNight) {
  const AirAndHumidity screen{Celsius(25), Percent(30)};
  const auto at = [&](double h) { return litter_regression(screen, {h, h >= 6 && h < 18, true}).value(); };
  EXPECT_NEAR(at(11), 7.545, 1e-9);
  EXPECT_NEAR(at(11.5), (7.545 + 6.0125) / 2, 1e-9);
  EXPECT_NEAR(at(12), 6.0125, 1e-9);
  EXPECT_NEAR(at(17), 6.0125, 1e-9);
  EXPECT_NEAR(at(20), 7.8125, 1e-9);
}

TEST(LitterMoisture, H11LastHoursRainStaysInTheLitterWhateverTheAirSays) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 48);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    hours["air_temperature"].set(i, 25);
    hours["relative_humidity"].set(i, 40);
    hours["precipitation_amount"].set(i, i >= 10 && i < 16 ? 5 : 0);
  }
  compute_all(hours);
  const Column& litter = hours["litter_moisture"];
  EXPECT_LT(litter[10], 12);
  EXPECT_GT(litter[16], 30);
  EXPECT_GT(litter[18], 15);
  EXPECT_EQ(hours["hours_since_rain"][18], 2);
}

TEST(LitterMoisture, H29ExposedLitterIsNeverWetterThanSheltered) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 96);
  compute_all(hours);
  bool differs = false;
  for (std::size_t i = 0; i < hours.hours; ++i) {
    EXPECT_GE(hours["litter_moisture_difference"][i], 0) << i;
    differs = differs || hours["litter_moisture_difference"][i] > 0.3F;
  }
  EXPECT_TRUE(differs);
}

TEST(LitterMoisture, StartsAtEquilibriumAndIsSpinningUpForFiveDays) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 200);
  compute_all(hours);
  EXPECT_EQ(hours["litter_moisture"].flags(119), flag::kSpinUp);
  EXPECT_EQ(hours["litter_moisture"].flags(120), 0);
}

TEST(LitterMoisture, AnEnteredStateStandsAtNineOfItsDayWithoutSpinUp) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay) - 4, 48);
  hours.initial_state.emplace();
  hours.initial_state->as_of = kDay;
  hours.initial_state->litter_moisture = Percent(18);
  compute_all(hours);
  EXPECT_EQ(hours["litter_moisture"].flags(3), flag::kSpinUp);
  EXPECT_EQ(hours["litter_moisture"][4], 18);
  EXPECT_EQ(hours["litter_moisture"].flags(4), 0);
  EXPECT_EQ(hours["litter_moisture_sheltered"][4], 18);
}

TEST(LitterMoisture, AReadingReplacesTheStateAndTheModelGoesOnFromIt) {
  const UnitTraits unit = forest_unit();
  UnitHours without = fair_hours(unit, nine_on(unit, kDay), 48), with = without;
  read(with, "litter_moisture", 14, 40);
  compute_all(without);
  compute_all(with);
  EXPECT_EQ(with["litter_moisture"][14], 40);
  EXPECT_EQ(with["litter_moisture"].flags(14), flag::kReading);
  EXPECT_GT(with["litter_moisture"][15], without["litter_moisture"][15] + 5);
  EXPECT_EQ(with["litter_moisture"].flags(15), 0);
  EXPECT_EQ(with["litter_moisture"][13], without["litter_moisture"][13]);
}

TEST(LitterMoisture, IsUnknownWithoutRainAndStartsAnewAfterALongGap) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 240);
  lose(hours, "precipitation_amount", 150, 153);
  compute_all(hours);
  EXPECT_EQ(hours["litter_moisture"].why(150), Reason::gap);
  EXPECT_EQ(hours["litter_moisture"].flags(153), flag::kSpinUp);
  UnitHours dry = fair_hours(unit, nine_on(unit, kDay), 24);
  dry["precipitation_amount"] = Column(24);
  compute_all(dry);
  EXPECT_EQ(dry["litter_moisture"].why(5), Reason::not_in_feed);
}

TEST(LitterMoisture, OfGrassIsThatOfItsGrassAndHasNoShelteredTwin) {
  UnitTraits unit = forest_unit();
  unit.fuel = {};
  unit.fuel.type = "grassland";
  unit.fuel.moisture_model = MoistureModel::grass;
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 4);
  read(hours, "grass_moisture", 1, 12);
  compute_all(hours);
  EXPECT_EQ(hours["litter_moisture"][0], hours["grass_moisture"][0]);
  EXPECT_GT(hours["litter_moisture"][0], 2);
  EXPECT_EQ(hours["litter_moisture"][1], 12);
  EXPECT_EQ(hours["litter_moisture_sheltered"].why(1), Reason::not_applicable);
  EXPECT_EQ(hours["litter_moisture_difference"].why(1), Reason::not_applicable);
}

TEST(GrassMoisture, IsOutOfItsDomainForTwelveHoursAfterRain) {
  const UnitTraits unit = open_unit("grassland", MoistureModel::grass);
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 40);
  hours["precipitation_amount"].set(10, 3);
  compute_all(hours);
  const auto is_out = [&](std::size_t i) { return (hours["grass_moisture"].flags(i) & flag::kOutOfDomain) != 0; };
  EXPECT_TRUE(is_out(11));
  EXPECT_TRUE(is_out(22));
  EXPECT_FALSE(is_out(23));
}

TEST(HeathMoisture, IsWetAfterRainAndUnknownWhereRainOfTwoDaysIs) {
  const UnitTraits unit = open_unit("heath", MoistureModel::heath);
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 120);
  enter_last_rain(hours, 100, 5);
  hours["precipitation_amount"].set(20, 3);
  hours["precipitation_amount"].set_missing(60, Reason::gap);
  compute_all(hours);
  EXPECT_GT(hours["heath_moisture"][21], hours["heath_moisture"][20] + 60);
  EXPECT_LT(hours["heath_moisture"][21 + 24], hours["heath_moisture"][21]);
  EXPECT_EQ(hours["heath_moisture"].why(61), Reason::gap);
  EXPECT_EQ(hours["heath_moisture"].why(60 + 48), Reason::gap);
  EXPECT_FALSE(hours["heath_moisture"].is_missing(60 + 49));
  EXPECT_EQ(hours["grass_moisture"].why(0), Reason::no_model);
}

TEST(HeathMoisture, HeedsTheRainBeforeTheRecordAndIsUnknownWhereNobodySaysThere) {
  const UnitTraits unit = open_unit("heath", MoistureModel::heath);
  UnitHours unsaid = fair_hours(unit, nine_on(unit, kDay), 72), dry = unsaid, wet = unsaid;
  enter_last_rain(dry, 100, 6);
  enter_last_rain(wet, 3, 6);
  for (UnitHours* hours : {&unsaid, &dry, &wet}) compute_all(*hours);
  EXPECT_EQ(unsaid["heath_moisture"].why(0), Reason::no_state);
  EXPECT_FALSE(unsaid["heath_moisture"].is_missing(48));
  EXPECT_GT(wet["heath_moisture"][0], dry["heath_moisture"][0] + 40);
  EXPECT_EQ(wet["heath_moisture"][60], dry["heath_moisture"][60]);
}

TEST(HeathMoisture, KnowsTheDrizzleThatCountsAsNoRain) {
  const UnitTraits unit = open_unit("heath", MoistureModel::heath);
  UnitHours dry = fair_hours(unit, nine_on(unit, kDay), 48);
  enter_last_rain(dry, 200, 6);
  UnitHours drizzle = dry;
  for (std::size_t i = 4; i < 28; ++i) drizzle["precipitation_amount"].set(i, 0.15);  // 3.6 mm, never 0.2 mm in an hour
  compute_all(dry);
  compute_all(drizzle);
  EXPECT_GT(drizzle["heath_moisture"][28], dry["heath_moisture"][28] + 60);
}

TEST(LitterMoisture, NamesAMissingParameter) {
  UnitTraits unit = forest_unit();
  unit.fuel.litter_light_share = std::nan("");
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 4);
  compute_all(hours);
  EXPECT_EQ(hours["litter_moisture"].why(2), Reason::no_parameter);
}

}  // namespace
}  // namespace hakea::test
