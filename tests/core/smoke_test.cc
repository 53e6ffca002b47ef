// Properties of dispersion, plume rise and drift, and the rows made of them. Published values stand in cases/smoke.csv.
#include "core/air/smoke.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/air/dispersion.h"
#include "core/base/numbers.h"
#include "tests/core/unit_hours_builder.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

// 100 g/s from a square of 900 m.
double at(int stability_class, double wind_ms, double lid_m, double x_m) {
  return AreaPlume(Metres(900), Metres(900), Metres(x_m))
      .from_ground(100, {stability_class, MetresPerSecond(wind_ms), Metres(lid_m)});
}

TEST(Dispersion, IsMissingWhereAnInputIs) {
  for (std::size_t lost = 0; lost < 6; ++lost) {
    const auto or_lost = [lost](std::size_t which, double value) { return lost == which ? kNaN : value; };
    AreaPlume plume(Metres(or_lost(0, 900)), Metres(or_lost(1, 900)), Metres(or_lost(2, 3000)));
    const double rate = or_lost(3, 100);
    const SpreadingAir air{4, MetresPerSecond(or_lost(4, 3)), Metres(800)};
    if (lost < 5) {
      EXPECT_TRUE(std::isnan(plume.from_ground(rate, air))) << lost;
    }
    EXPECT_TRUE(std::isnan(plume.from_aloft(rate, Metres(or_lost(5, 100)), {}, air))) << lost;
  }
  EXPECT_TRUE(std::isnan(at(0, 3, 800, 3000)));
  EXPECT_EQ(at(4, 3, 800, -2000), 0);  // upwind
}

TEST(Dispersion, FallsWithWindAndWithARisingLid) {
  for (int c = 1; c <= 6; ++c)
    for (const double x : {200.0, 1000.0, 5000.0, 20000.0}) {
      double last = std::numeric_limits<double>::infinity();
      for (const double wind : {1.0, 2.0, 4.0, 8.0, 16.0}) {
        const double here = at(c, wind, 700, x);
        EXPECT_LT(here, last);
        EXPECT_GT(here, 0);
        last = here;
      }
      last = std::numeric_limits<double>::infinity();
      for (const double lid : {100.0, 200.0, 400.0, 800.0, 1600.0, 3200.0}) {
        const double here = at(c, 3, lid, x);
        EXPECT_LE(here, last * (1 + 1e-3)) << c << ' ' << x << ' ' << lid;  // the sum of images joins the mixed value within that
        last = here;
      }
      EXPECT_EQ(at(c, 0.2, 700, x), at(c, 1, 700, x));  // winds under 1 m/s count as 1 m/s
    }
}

// Over the whole depth under the lid and all of the crosswind, what passes is what is emitted: the vertical term of a source on
// the ground, averaged over the lid, is sqrt(2 pi) sigma / lid; here by its ground value once the air is mixed.
TEST(Dispersion, KeepsTheMassUnderTheLid) {
  for (const double lid : {100.0, 300.0})
    for (const double spread : {1.7, 2.5, 8.0}) {
      const Metres s(spread * lid);
      EXPECT_DOUBLE_EQ(vertical_term(Metres(0), s, Metres(lid)) / (std::sqrt(2 * std::numbers::pi) * s.value()) * lid, 1);
    }
  // Just before the change the images add up to the same within a thousandth.
  for (const double height : {0.0, 50.0, 100.0})
    EXPECT_NEAR(vertical_term(Metres(height), Metres(159.9), Metres(100)) / (std::sqrt(2 * std::numbers::pi) * 159.9) * 100, 1,
                1e-3);
  EXPECT_EQ(vertical_term(Metres(120), Metres(50), Metres(100)), 0);  // above the lid
  EXPECT_DOUBLE_EQ(vertical_term(Metres(0), Metres(50), Metres::missing()), 2);
}

TEST(Dispersion, OfAnAreaIsTheSumOfItsHalves) {
  const auto half = [](double x) {
    return AreaPlume(Metres(450), Metres(900), Metres(x)).from_ground(50, {4, MetresPerSecond(3), Metres(800)});
  };
  EXPECT_NEAR(at(4, 3, 800, 3000) / (half(3000 - 225) + half(3000 + 225)), 1, 1e-3);
}

// Smoke without rise from the height of the ground is smoke from the ground, by 7 points of the integral or by 15.
TEST(Dispersion, FromAloftBeginsWhereFromGroundEnds) {
  for (int c = 1; c <= 6; ++c)
    for (const double lid : {60.0, 300.0, 2000.0}) {
      AreaPlume plume(Metres(900), Metres(900), Metres(4000));
      const SpreadingAir air{c, MetresPerSecond(3), Metres(lid)};
      EXPECT_NEAR(plume.from_aloft(100, Metres(0), {}, air) / plume.from_ground(100, air), 1, 1e-4) << c << ' ' << lid;
      EXPECT_LT(plume.from_aloft(100, Metres(250), {}, {c, MetresPerSecond(3), Metres::missing()}),
                plume.from_ground(100, {c, MetresPerSecond(3), Metres::missing()}));
    }
}

TEST(PlumeRise, GrowsWithHeatAndFallsWithWindAndStability) {
  const auto rise = [](double mw, double wind, int c) {
    return plume_rise(buoyancy_of_heat(mw * 1e6, Kelvin(293)), MetresPerSecond(wind), c, Kelvin(293)).final_rise().value();
  };
  for (const int c : {4, 5, 6})
    for (double mw = 10; mw < 400; mw *= 2) {  // from where one neutral formula holds
      EXPECT_GT(rise(2 * mw, 4, c), rise(mw, 4, c));
      EXPECT_GT(rise(mw, 4, c), rise(mw, 8, c));
    }
  EXPECT_GT(rise(100, 5, 4), rise(100, 5, 5));
  EXPECT_GT(rise(100, 5, 5), rise(100, 5, 6));
  const PlumeRise hot = plume_rise(300, MetresPerSecond(5), 4, Kelvin(293));
  EXPECT_EQ(hot.rise_at(Metres(0)).value(), 0);
  EXPECT_LE(hot.rise_at(Metres(300)).value(), hot.final_rise().value());
  EXPECT_EQ(hot.rise_at(Metres(1e5)).value(), hot.final_rise().value());
}

// ---- Drift.

SmokeAir day_air(double from) {
  return {.stability_class = 4,
          .wind = KilometresPerHour(15),
          .wind_from = Degrees(from),
          .transport_wind = KilometresPerHour(25),
          .transport_from = Degrees(from),
          .mixing_height = Metres(1200),
          .temperature = Celsius(20),
          .is_night = false,
          .since_sunset = Hours(0)};
}

TEST(Drift, TurnsWithTheWind) {
  for (double turned = 0; turned < 360; turned += 7.5)
    for (double off = -180; off <= 180; off += 2.5) {
      const Receptor receptor{Metres(8000), Degrees(std::fmod(turned + 180 + off + 720, 360))};
      EXPECT_EQ(is_under_smoke(receptor, day_air(turned)), std::abs(off) <= 22.5) << turned << ' ' << off;
    }
}

TEST(Drift, IsWiderInUnstableAirAndEndsAtAHundredKilometres) {
  SmokeAir air = day_air(0);
  const Receptor aside{Metres(8000), Degrees(180 + 45)};
  EXPECT_FALSE(is_under_smoke(aside, air));
  air.stability_class = 1;
  EXPECT_TRUE(is_under_smoke(aside, air));
  EXPECT_FALSE(is_under_smoke({Metres(100001), Degrees(180)}, air));
  EXPECT_FALSE(is_under_smoke({Metres::missing(), Degrees(180)}, air));
}

TEST(Drift, ByNightFollowsTheWindAtTheGroundToo) {
  SmokeAir air = day_air(0);
  air.wind_from = Degrees(90);
  const Receptor west{Metres(8000), Degrees(270)};
  EXPECT_FALSE(is_under_smoke(west, air));
  air.is_night = true;
  EXPECT_TRUE(is_under_smoke(west, air));
}

// H8: a still night puts the smoke on whatever lies near, upwind or not.
TEST(Drift, H8InAStillNightPoolsOverWhatLiesNear) {
  SmokeAir air = day_air(0);
  air.wind = KilometresPerHour(4);
  const Receptor upwind{Metres(4800), Degrees(0)}, farther{Metres(4900), Degrees(0)};
  EXPECT_FALSE(is_under_smoke(upwind, air));
  air.is_night = true;
  EXPECT_TRUE(is_under_smoke(upwind, air));
  EXPECT_FALSE(is_under_smoke(farther, air));
}

const Burn kBurn{80, TonnesPerHectare(12), Hours(5), {13.6, 23.2}};

TEST(SmokeConcentration, FallsThroughTheNightAsSmoulderingDies) {
  SmokeAir air = day_air(0);
  air.is_night = true;
  double last = BurnSmoke(kBurn, Metres(3000)).in(air).ug_m3;
  for (int hour = 1; hour < 12; ++hour) {
    air.since_sunset = Hours(hour);
    const double here = BurnSmoke(kBurn, Metres(3000)).in(air).ug_m3;
    EXPECT_NEAR(here / last, std::exp(-1 / 4.5), 1e-9);
    last = here;
  }
}

TEST(SmokeConcentration, OfSeveralBurnsIsTheSumOfThoseThatReachThePlace) {
  const Receptor under{Metres(6000), Degrees(180)}, beside{Metres(6000), Degrees(90)};
  const SmokeAir air = day_air(0);
  const std::vector<Contribution> burns{{kBurn, air, under}, {kBurn, air, under}, {kBurn, air, beside}};
  const double one = BurnSmoke(kBurn, Metres(6000)).in(air).ug_m3;
  EXPECT_DOUBLE_EQ(combined_concentration(burns).ug_m3, 2 * one);
  EXPECT_EQ(combined_concentration({}).ug_m3, 0);
}

TEST(SmokeConcentration, SaysWhereItIsNotToBeTrusted) {
  SmokeAir air = day_air(0);
  EXPECT_TRUE(BurnSmoke(kBurn, Metres(6000)).in(air).in_domain);
  EXPECT_FALSE(BurnSmoke(kBurn, Metres(500)).in(air).in_domain);    // nearer than 100 m to the edge
  EXPECT_FALSE(BurnSmoke(kBurn, Metres(60000)).in(air).in_domain);  // farther than the curves are drawn
  air.wind = KilometresPerHour(2);
  EXPECT_FALSE(BurnSmoke(kBurn, Metres(6000)).in(air).in_domain);  // calm
  const Burn vast{4000, TonnesPerHectare(15), Hours(6), {13.6, 23.2}};
  EXPECT_FALSE(BurnSmoke(vast, Metres(20000)).in(day_air(0)).in_domain);  // flames of over 300 MW
}

// What is lit in tau hours is all given off in the end: 60 % flaming, 40 % smouldering, of which the tail is the rest.
TEST(Emission, GivesOffAllTheFuel) {
  const double fuel_kg = 80 * 12 * 1000.0, flaming = flaming_emission_g_s(kBurn) * 5 * 3600;
  EXPECT_NEAR(flaming, 0.6 * fuel_kg * 13.6, 1e-6 * fuel_kg);
  // While it is lit the smouldering rate is r (1 - exp(-t / T)), afterwards it falls from r (1 - exp(-tau / T)).
  const double r = 0.4 * consumption_kg_s(kBurn) * 23.2, T = 4.5 * 3600, tau = 5 * 3600;
  const double alight = r * (tau - T * (1 - std::exp(-tau / T))), tail = smouldering_emission_g_s(kBurn) * T;
  EXPECT_NEAR(alight + tail, 0.4 * fuel_kg * 23.2, 1e-6 * fuel_kg * 23.2);
}

// ---- Rows.

UnitTraits burning_unit() {
  UnitTraits unit = forest_unit();
  unit.area_ha = 80;
  unit.receptors = {{Metres(3000), Degrees(120)}, {Metres(9000), Degrees(300)}};
  return unit;
}

UnitHours airy_hours(const UnitTraits& unit, std::size_t count = 48) {
  UnitHours hours = fair_hours(unit, nine_on(unit, date(2027, 3, 30)), count);
  for (std::size_t i = 0; i < count; ++i) {
    hours["mixing_height"].set(i, i % 24 < 9 ? 1100 : 150);
    hours["wind_from_direction"].set(i, 300);
  }
  return hours;
}

TEST(SmokeRows, SayWhoLiesUnderTheSmokeHourByHour) {
  const UnitTraits unit = burning_unit();
  UnitHours hours = airy_hours(unit);
  compute_all(hours);
  for (std::size_t i = 0; i < 48; ++i) {
    EXPECT_EQ(hours["smoke_bearing"][i], 120) << i;
    EXPECT_GE(hours["receptors_under_smoke"][i], 1) << i;
    EXPECT_GT(hours["smoke_concentration"][i], 0) << i;
  }
  UnitHours elsewhere = airy_hours(unit);
  for (std::size_t i = 0; i < 48; ++i) elsewhere["wind_from_direction"].set(i, 30);
  compute_all(elsewhere);
  EXPECT_EQ(elsewhere["receptors_under_smoke"][2], 0);
  EXPECT_EQ(elsewhere["smoke_concentration"][2], 0);
}

TEST(SmokeRows, SayWhyTheyAreMissing) {
  UnitTraits unit = burning_unit();
  unit.receptors.clear();
  UnitHours nobody = airy_hours(unit);
  compute_all(nobody);
  EXPECT_EQ(nobody["receptors_under_smoke"].why(3), Reason::no_parameter);
  EXPECT_GT(nobody["smoke_concentration"][3], 0);  // 5 km downwind
  unit.area_ha = kNaN;
  UnitHours no_area = airy_hours(unit);
  compute_all(no_area);
  EXPECT_EQ(no_area["smoke_concentration"].why(3), Reason::no_parameter);
  const UnitTraits whole = burning_unit();
  UnitHours no_levels = fair_hours(whole, nine_on(whole, date(2027, 3, 30)), 3);
  no_levels["mixing_height"].set_missing(1, Reason::gap);
  compute_all(no_levels);
  EXPECT_EQ(no_levels["smoke_concentration"].why(1), Reason::gap);
}

TEST(SmokeRows, InACalmWithoutDirectionKnowOnlyTheNearOnes) {
  UnitTraits unit = burning_unit();
  UnitHours hours = airy_hours(unit);
  for (std::size_t i = 0; i < 48; ++i) {
    hours["wind_speed"].set(i, 1);
    hours["wind_from_direction"].set_missing(i, Reason::gap);
  }
  compute_all(hours);
  EXPECT_TRUE(hours["receptors_under_smoke"].is_missing(3));  // by day
  const Column& under = hours["receptors_under_smoke"];
  EXPECT_EQ(under[14], 1);
  EXPECT_NE(under.flags(14) & flag::kAtLeast, 0);
}

// ---- Rows of stability and inversion.

TEST(StabilityRow, NamesItsMethod) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = airy_hours(unit, 24);
  hours["shortwave_radiation"].set_missing(3, Reason::gap);
  hours["near_ground_gradient"].set(15, 12);
  compute_all(hours);
  EXPECT_EQ(hours.stability[2], StabilityMethod::radiation);
  EXPECT_EQ(hours.stability[3], StabilityMethod::turner);
  EXPECT_EQ(hours.stability[14], StabilityMethod::turner);
  EXPECT_EQ(hours.stability[15], StabilityMethod::gradient);
  for (std::size_t i = 0; i < 24; ++i) {
    EXPECT_GE(hours["stability_class"][i], 1);
    EXPECT_LE(hours["stability_class"][i], 6);
  }
  hours["cloud_area_fraction"].set_missing(14, Reason::gap);
  hours["wind_speed"].set_missing(2, Reason::gap);
  compute_all(hours);
  EXPECT_TRUE(hours["stability_class"].is_missing(2));
  EXPECT_TRUE(hours["stability_class"].is_missing(14));
  EXPECT_EQ(hours.stability[14], StabilityMethod::none);
}

TEST(InversionRow, CountsFromTheMomentItBroke) {
  const UnitTraits unit = forest_unit();
  UnitHours hours(unit, nine_on(unit, date(2027, 3, 30)), 8);
  const double strength[] = {0, 0, 3, 4, 0, 0, 0, 2}, air[] = {12, 11, 10, 15.9, 18, 20, 20, 12};
  for (std::size_t i = 0; i < 8; ++i) {
    hours["inversion_strength"].set(i, strength[i]);
    hours["air_temperature"].set(i, air[i]);
  }
  hours["inversion_break_temperature"].set(3, 16.93);
  hours["inversion_strength"].set_missing(6, Reason::gap);
  compute_all(hours);
  const Column& since = hours["hours_since_inversion"];
  EXPECT_EQ(since[0], 0);
  EXPECT_EQ(since[1], 1);
  EXPECT_NE(since.flags(1) & flag::kAtLeast, 0);  // none in the record so far
  EXPECT_EQ(since[2], 0);
  EXPECT_EQ(since.flags(2), 0);
  EXPECT_EQ(since[3], 0);
  EXPECT_NEAR(since[4], 11 - 10.4907, 5e-4);
  EXPECT_NEAR(since[5], 12 - 10.4907, 5e-4);
  EXPECT_EQ(since.why(6), Reason::gap);
  EXPECT_EQ(since[7], 0);
}

TEST(LevelRows, OfATableWithoutLevelsSayThatLevelsAreMissingUnlessRead) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, date(2027, 3, 30)), 3);
  read(hours, "c_haines", 1, 9);
  compute_all(hours);
  for (const char* key : {"c_haines", "haines_index", "hot_dry_windy", "inversion_strength", "near_ground_gradient"})
    EXPECT_EQ(hours[key].why(0), Reason::no_profile) << key;
  EXPECT_EQ(hours["c_haines"][1], 9);
}

}  // namespace
}  // namespace hakea::test
