#include "service/engine/run_weather.h"

#include <gtest/gtest.h>

#include <cmath>
#include <tuple>

#include "core/catalogue/catalogue.h"
#include "core/weather/variables.h"
#include "service/engine/slab_spool.h"
#include "tests/support/run_hours.h"

namespace hakea::service {
namespace {

using core::Fed;
using core::Reason;
using namespace std::chrono;
using namespace std::chrono_literals;

constexpr float kNaN = std::numeric_limits<float>::quiet_NaN();
constexpr UtcTime kMorning = sys_days(2027y / March / 30) + 0h;  // ten o'clock at the points below: the sun is up

// Sounding C of tests/cases/soundings, over ground at 930 hPa and 650 m: 1316.3 m by the parcel method (made by hand).
const std::vector<double> kLevels{925, 900, 875, 850, 800, 750, 700};
const std::vector<float> kTemperature{25.6f, 23.4f, 21.1f, 18.9f, 14.4f, 12.2f, 9.0f},
    kDewPoint{8.4f, 7.9f, 7.4f, 6.9f, 5.4f, -4.0f, -10.0f};
constexpr double kMixingHeight = 1316.3;

// A run of hourly surface fields and three-hourly profiles, told slab by slab.
struct Teller {
  ingest::RunPlan plan;
  std::size_t points;

  Teller(UtcTime start, int last_hour, std::vector<float> model_elevation, const std::vector<Fed>& surface, bool with_levels,
         std::size_t members = 1)
      : points(model_elevation.size()) {
    plan.reference_time = start;
    for (int h = 0; h <= last_hour; ++h) plan.steps.push_back(start + hours(h));
    if (with_levels) plan.levels_hpa = kLevels;
    plan.members = members;
    plan.model_elevation_m = std::move(model_elevation);
    plan.wind_rotation_deg.assign(points, 0);
    for (const Fed fed : surface) add(fed, 1);
    if (with_levels)
      for (const Fed fed :
           {Fed::level_temperature, Fed::level_dew_point_temperature, Fed::level_eastward_wind, Fed::level_northward_wind})
        add(fed, 3);
  }

  void add(Fed fed, int every) {
    ingest::FieldPlan field;
    field.fed = fed;
    plan.fields.push_back(field);
    plan.accumulation.push_back(ingest::Accumulation::none);
    auto& times = plan.field_times.emplace_back();
    for (std::size_t s = 0; s < plan.steps.size(); ++s) {
      const bool has = s % static_cast<std::size_t>(every) == 0;
      times.push_back(has ? ingest::StepTime{plan.steps[s], plan.steps[s]} : ingest::StepTime{UtcTime::min(), UtcTime::min()});
    }
  }

  static float surface_value(Fed fed) {
    switch (fed) {
      case Fed::air_temperature: return 27;
      case Fed::dew_point_temperature: return 9;
      case Fed::surface_pressure: return 930;
      case Fed::wind_speed: return 18;
      case Fed::wind_from_direction: return 270;
      case Fed::mixing_height: return 900;
      default: return kNaN;
    }
  }
  static float level_value(Fed fed, std::size_t level) {
    switch (fed) {
      case Fed::level_temperature: return kTemperature[level];
      case Fed::level_dew_point_temperature: return kDewPoint[level];
      case Fed::level_eastward_wind: return 36;
      default: return 0;
    }
  }

  ingest::Slab slab(std::size_t f, std::size_t first, std::size_t steps, std::shared_ptr<const ingest::PointList> of) const {
    const Fed fed = plan.fields[f].fed;
    const bool on_levels = core::describe(fed).on_levels;
    ingest::Slab s{.field = f,
                   .first_step = first,
                   .steps = steps,
                   .points = of,
                   .members = plan.members,
                   .levels = on_levels ? kLevels.size() : 1,
                   .values = {}};
    for (std::size_t step = 0; step < steps; ++step)
      for (std::size_t member = 0; member < plan.members; ++member)
        for (std::size_t level = 0; level < s.levels; ++level)
          for (std::size_t p = 0; p < of->size(); ++p) {
            const bool warmer = member > 0 && fed == Fed::air_temperature;
            s.values.push_back(on_levels ? level_value(fed, level) : surface_value(fed) + (warmer ? 1.0f : 0.0f));
          }
    return s;
  }

  std::shared_ptr<const ingest::PointList> list(std::vector<std::int32_t> which) const {
    return std::make_shared<const ingest::PointList>(std::move(which));
  }
  std::shared_ptr<const ingest::PointList> everywhere() const {
    std::vector<std::int32_t> all;
    for (std::size_t p = 0; p < points; ++p) all.push_back(static_cast<std::int32_t>(p));
    return list(all);
  }

  void tell_surface(RunColumns& run) const {
    for (std::size_t f = 0; f < plan.fields.size(); ++f)
      if (!core::describe(plan.fields[f].fed).on_levels) run.on_slab(slab(f, 0, plan.steps.size(), everywhere()));
  }
  void tell_profiles(RunColumns& run, const std::vector<std::shared_ptr<const ingest::PointList>>& lists) const {
    for (const auto& of : lists)
      for (std::size_t s = 0; s < plan.steps.size(); s += 3)
        for (std::size_t f = 0; f < plan.fields.size(); ++f)
          if (core::describe(plan.fields[f].fed).on_levels) run.on_slab(slab(f, s, 1, of));
  }
};

const std::vector<Fed> kSurface{Fed::air_temperature, Fed::dew_point_temperature, Fed::surface_pressure, Fed::wind_speed,
                                Fed::wind_from_direction};
const UtcHour kKeepAll{std::numeric_limits<std::int32_t>::max() / 2};

core::Site site(double elevation) {
  core::Site s;
  s.latitude_deg = -37;
  s.longitude_deg = 150;
  s.elevation = Metres(elevation);
  return s;
}

core::UnitTraits unit(double elevation) {
  core::UnitTraits traits;
  traits.site = site(elevation);
  return traits;
}

RunColumns told(const Teller& teller, bool all_members = false, UtcHour keep_before = kKeepAll) {
  RunColumns run(std::vector<core::Site>(teller.points, site(650)), all_members, keep_before);
  run.on_plan(teller.plan);
  teller.tell_surface(run);
  if (!teller.plan.levels_hpa.empty()) teller.tell_profiles(run, {teller.everywhere()});
  EXPECT_TRUE(run.finish());
  return run;
}

RunWeather weather(RunColumns run) {
  std::vector<RunColumns> runs;
  runs.push_back(std::move(run));
  return RunWeather(std::move(runs));
}

TEST(RunWeather, ReducesProfilesToTheHoursOfEveryPoint) {
  const RunWeather runs = weather(told(Teller(kMorning, 6, {650, 650}, kSurface, true)));
  const auto traits = unit(650);
  for (std::size_t point : {0u, 1u}) {
    core::UnitHours hours = test::unit_hours(runs, point, 0, traits);
    for (std::size_t i = 0; i < 6; ++i) {
      EXPECT_NEAR(hours["mixing_height"][i], kMixingHeight, 0.3) << i;
      EXPECT_EQ(hours["mixing_height"].flags(i) & core::flag::kInterpolated, i % 3 ? core::flag::kInterpolated : 0) << i;
      EXPECT_EQ(hours.mixing[i], (core::MixingNote{core::MixingMethod::parcel, false}));
      EXPECT_EQ(hours["inversion_strength"][i], 0);
    }
    core::compute_all(hours);
    EXPECT_NEAR(hours["transport_wind_from_direction"][0], 270, 1e-3);
    EXPECT_GT(hours["transport_wind_speed"][0], 30);  // 18 km/h at 10 m, 36 on all levels
    EXPECT_NEAR(hours["ventilation_index"][0],
                static_cast<double>(hours["mixing_height"][0]) * static_cast<double>(hours["transport_wind_speed"][0]) / 3.6,
                0.01);
  }
}

TEST(HardCase, H10UnitAboveTheModelsGroundIsCoolerAndNearerTheTopOfTheMixedLayer) {
  const RunWeather runs = weather(told(Teller(kMorning, 3, {650}, kSurface, true)));
  const auto traits = unit(1150);
  const core::UnitHours hours = test::unit_hours(runs, 0, 0, traits);
  EXPECT_NEAR(hours["air_temperature"][0], 27 - 3.25, 1e-4);
  EXPECT_NEAR(hours["dew_point_temperature"][0], 9, 1e-4);
  EXPECT_LT(hours["surface_pressure"][0], 930 - 50);
  EXPECT_NEAR(hours["mixing_height"][0], kMixingHeight - 500, 0.3);
  const auto peak = unit(2150);
  core::UnitHours above = test::unit_hours(runs, 0, 0, peak);
  EXPECT_LT(above["mixing_height"][0], 0);
  core::compute_all(above);
  EXPECT_EQ(above["ventilation_index"][0], 0);
}

TEST(RunWeather, PointsMayComeInAnyGrouping) {
  const Teller teller(kMorning, 6, {650, 640, 660}, kSurface, true);
  const RunColumns together = told(teller);
  RunColumns apart(std::vector<core::Site>(3, site(650)), false, kKeepAll);
  apart.on_plan(teller.plan);
  teller.tell_surface(apart);
  teller.tell_profiles(apart, {teller.list({0, 2}), teller.list({1})});
  ASSERT_TRUE(apart.finish());
  for (std::size_t point = 0; point < 3; ++point)
    for (std::size_t hour = 0; hour < together.hours(); ++hour)
      EXPECT_EQ(together.air(point, 0, hour).mixing_height.value, apart.air(point, 0, hour).mixing_height.value);
}

// So many points that they are spread over the processors, each at an elevation of its own.
TEST(RunWeather, ManyPointsAtOnceAreAsEachAlone) {
  std::vector<float> elevation;
  for (int p = 0; p < 2500; ++p) elevation.push_back(600 + 0.05f * static_cast<float>(p));
  const RunColumns together = told(Teller(kMorning, 6, elevation, kSurface, true));
  for (std::size_t point : {0u, 1u, 1249u, 1250u, 1777u, 2499u}) {
    const RunColumns alone = told(Teller(kMorning, 6, {elevation[point]}, kSurface, true));
    for (std::size_t hour = 0; hour < together.hours(); ++hour) {
      EXPECT_EQ(together.air(point, 0, hour).mixing_height.value, alone.air(0, 0, hour).mixing_height.value) << point;
      for (std::size_t q = 0; q < kSurfaceQuantities; ++q) {
        const RunColumns::Value one = together.surface(point, 0, q, hour), other = alone.surface(0, 0, q, hour);
        EXPECT_TRUE(one.value == other.value || (std::isnan(one.value) && std::isnan(other.value))) << point << ' ' << q;
        EXPECT_EQ(one.flags, other.flags);
        EXPECT_EQ(one.why, other.why);
      }
    }
  }
}

TEST(RunWeather, WhatNobodyAsksForIsNotMade) {
  const Teller teller(kMorning, 6, {650}, kSurface, true);
  const RunColumns whole = told(teller);
  RunColumns asked(
      {site(650)}, false, kKeepAll,
      {core::AirDepth::mixing, {.always = {Fed::wind_from_direction}, .without_levels = {}, .hours_with_levels = 1U << 3}});
  asked.on_plan(teller.plan);
  teller.tell_surface(asked);
  teller.tell_profiles(asked, {teller.everywhere()});
  ASSERT_TRUE(asked.finish());
  for (std::size_t hour = 0; hour < whole.hours(); ++hour) {
    EXPECT_EQ(asked.surface(0, 0, 0, hour).value, whole.surface(0, 0, 0, hour).value);
    EXPECT_EQ(asked.surface(0, 0, surface_place("wind_from_direction"), hour).why, Reason::not_in_feed);
    EXPECT_EQ(std::isnan(asked.air(0, 0, hour).mixing_height.value), hour != 3);
    EXPECT_TRUE(std::isnan(asked.air(0, 0, hour).of_levels[kCHaines].value));
  }
}

// Beside a run that only adds hours before it a run is asked hour by hour, alone all at once.
TEST(RunWeather, ARunAloneSaysWhatItSaysBesideAnother) {
  const auto newest = [] { return told(Teller(kMorning, 6, {650}, kSurface, true)); };
  std::vector<RunColumns> both;
  both.push_back(told(Teller(kMorning - 6h, 4, {650}, {Fed::air_temperature}, false), false, UtcHour::of(kMorning)));
  both.push_back(newest());
  const auto traits = unit(900);
  const core::UnitHours alone = test::unit_hours(weather(newest()), 0, 0, traits),
                        beside = test::unit_hours(RunWeather(std::move(both)), 0, 0, traits);
  ASSERT_EQ(beside.hours, alone.hours + 6);
  for (std::size_t q = 0; q < alone.columns.size(); ++q)
    for (std::size_t i = 0; i < alone.hours; ++i) {
      const core::Column &one = alone.columns[q], &other = beside.columns[q];
      EXPECT_TRUE(one[i] == other[i + 6] || (one.is_missing(i) && other.is_missing(i + 6))) << core::catalogue()[q].key;
      EXPECT_EQ(one.flags(i), other.flags(i + 6)) << core::catalogue()[q].key;
      EXPECT_EQ(one.why(i), other.why(i + 6)) << core::catalogue()[q].key;
    }
  EXPECT_TRUE(std::equal(alone.mixing.begin(), alone.mixing.end(), beside.mixing.begin() + 6));
}

TEST(RunWeather, ANewPlanForgetsWhatCameBefore) {
  const Teller teller(kMorning, 6, {650}, kSurface, true);
  RunColumns run({site(650)}, false, kKeepAll);
  run.on_plan(teller.plan);
  teller.tell_surface(run);
  teller.tell_profiles(run, {teller.everywhere()});
  run.on_plan(teller.plan);
  teller.tell_surface(run);
  teller.tell_profiles(run, {teller.everywhere()});
  ASSERT_TRUE(run.finish());
  EXPECT_NEAR(run.air(0, 0, 1).mixing_height.value, kMixingHeight, 0.3);
}

TEST(RunWeather, SurfaceAfterProfilesIsAFailureNotASilentGap) {
  const Teller teller(kMorning, 6, {650}, kSurface, true);
  RunColumns run({site(650)}, false, kKeepAll);
  run.on_plan(teller.plan);
  teller.tell_profiles(run, {teller.everywhere()});
  teller.tell_surface(run);
  EXPECT_FALSE(run.finish());
}

TEST(RunWeather, SlabsThatDoNotFitThePlanAreRefused) {
  const Teller teller(kMorning, 6, {650}, kSurface, true);
  const auto refuses = [&](auto&& spoil) {
    RunColumns run({site(650)}, false, kKeepAll);
    run.on_plan(teller.plan);
    ingest::Slab slab = teller.slab(0, 0, 2, teller.everywhere());
    spoil(slab);
    run.on_slab(std::move(slab));
    return !run.finish();
  };
  EXPECT_FALSE(refuses([](ingest::Slab&) {}));
  EXPECT_TRUE(refuses([](ingest::Slab& s) { s.field = 99; }));
  EXPECT_TRUE(refuses([](ingest::Slab& s) { s.first_step = 6; }));
  EXPECT_TRUE(refuses([](ingest::Slab& s) { s.values.pop_back(); }));
  EXPECT_TRUE(refuses([&](ingest::Slab& s) { s.points = teller.list({1}); }));
}

TEST(RunWeather, SaysWhyAValueIsMissing) {
  const RunWeather runs = weather(told(Teller(kMorning, 6, {650}, {Fed::air_temperature, Fed::wind_speed}, false)));
  const auto traits = unit(650);
  core::UnitHours hours = test::unit_hours(runs, 0, 0, traits);
  EXPECT_FALSE(hours["air_temperature"].is_missing(0));
  EXPECT_EQ(hours["precipitation_amount"].why(0), Reason::not_in_feed);
  EXPECT_EQ(hours["mixing_height"].why(0), Reason::no_profile);
  core::compute_all(hours);
  EXPECT_EQ(hours["transport_wind_speed"].why(0), Reason::no_profile);
  EXPECT_EQ(hours["ventilation_index"].why(0), Reason::no_profile);
  EXPECT_EQ(hours["c_haines"].why(0), Reason::no_profile);
  EXPECT_EQ(hours["smoke_bearing"].why(0), Reason::no_profile);
  EXPECT_TRUE(hours["stability_class"].is_missing(0));  // neither radiation nor levels nor cloud
}

// A run that is fed the mixing height, and no levels.
RunWeather with_mixing_height_of_its_own() {
  auto surface = kSurface;
  surface.push_back(Fed::mixing_height);
  return weather(told(Teller(kMorning, 6, {650}, surface, false)));
}

TEST(RunWeather, AFeedsOwnMixingHeightNeedsNoLevelsAndTheTenMetreWindStandsIn) {
  const RunWeather runs = with_mixing_height_of_its_own();
  const auto traits = unit(600);
  core::UnitHours hours = test::unit_hours(runs, 0, 0, traits);
  core::compute_all(hours);
  EXPECT_NEAR(hours["mixing_height"][0], 950, 1e-3);
  EXPECT_NEAR(hours["transport_wind_speed"][0], 18, 1e-4);
  EXPECT_NEAR(hours["transport_wind_from_direction"][0], 270, 1e-3);
  EXPECT_NEAR(hours["ventilation_index"][0], 950 * 5, 0.1);
  EXPECT_EQ(hours.mixing[0], (core::MixingNote{core::MixingMethod::model, false}));
}

TEST(RunWeather, AReadingOfTheTransportWindMakesTheVentilation) {
  const RunWeather runs = with_mixing_height_of_its_own();
  const auto traits = unit(650);
  core::UnitHours hours = test::unit_hours(runs, 0, 0, traits);
  auto& entered = hours.readings[core::quantity_index("transport_wind_speed")];
  entered = core::Column(hours.hours);
  entered.set(1, 36);
  core::compute_all(hours);
  EXPECT_NEAR(hours["ventilation_index"][0], 900 * 5, 0.1);
  EXPECT_NEAR(hours["ventilation_index"][1], 900 * 10, 0.1);
}

TEST(RunWeather, HoursBeforeTheNewestRunComeFromTheShortestLead) {
  std::vector<RunColumns> runs;
  const UtcHour newest = UtcHour::of(kMorning);
  runs.push_back(
      told(Teller(kMorning - 12h, 20, {650}, {Fed::air_temperature, Fed::dew_point_temperature}, false), false, newest));
  runs.push_back(told(Teller(kMorning - 6h, 20, {750}, {Fed::air_temperature}, false), false, newest));
  runs.push_back(told(Teller(kMorning, 6, {650}, {Fed::air_temperature}, false)));
  const RunWeather weather(std::move(runs));
  const auto traits = unit(650);
  const core::UnitHours hours = test::unit_hours(weather, 0, 0, traits);
  EXPECT_EQ(hours.first, newest - 12);
  EXPECT_NEAR(hours["air_temperature"][5], 27, 1e-4);     // only the oldest reaches back so far
  EXPECT_NEAR(hours["air_temperature"][6], 27.65, 1e-4);  // 100 m of model ground tell the second run from the others
  EXPECT_NEAR(hours["air_temperature"][12], 27, 1e-4);
  EXPECT_NEAR(hours["dew_point_temperature"][7], 9, 1e-4);  // the second run has none: the oldest stands in
  EXPECT_EQ(hours["dew_point_temperature"].why(12), Reason::not_in_feed);
}

TEST(RunWeather, ARunBeyondMemoryIsRefusedBeforeItIsHeld) {
  ingest::RunPlan plan = Teller(kMorning, 6, {650}, kSurface, true).plan;
  plan.members = 1'000'000'000;
  RunColumns run({site(650)}, true, kKeepAll);
  run.on_plan(plan);
  const auto finished = run.finish();
  ASSERT_FALSE(finished);
  EXPECT_EQ(finished.error().code, "too_large");
  EXPECT_NE(finished.error().what.find("members"), std::string::npos);
}

TEST(RunWeather, FieldsOfOneMemberFillThatMemberOnly) {
  ingest::RunPlan plan;
  plan.reference_time = kMorning;
  plan.members = 2;
  plan.steps = {kMorning};
  plan.model_elevation_m = {650};
  plan.wind_rotation_deg = {0};
  for (const std::int32_t member : {0, 1}) {
    ingest::FieldPlan field;
    field.fed = Fed::air_temperature;
    field.member_of = {member};
    plan.fields.push_back(field);
    plan.accumulation.push_back(ingest::Accumulation::none);
    plan.field_times.push_back({{kMorning, kMorning}});
  }
  RunColumns run({site(650)}, true, kKeepAll);
  run.on_plan(plan);
  const auto everywhere = std::make_shared<const ingest::PointList>(ingest::PointList{0});
  run.on_slab({0, 0, 1, everywhere, 1, 1, {20}});
  run.on_slab({1, 0, 1, everywhere, 1, 1, {24}});
  ASSERT_TRUE(run.finish());
  EXPECT_EQ(run.surface(0, 0, 0, 0).value, 20.0f);
  EXPECT_EQ(run.surface(0, 1, 0, 0).value, 24.0f);
}

TEST(RunWeather, KeepsMembersApart) {
  const RunWeather runs = weather(told(Teller(kMorning, 6, {650, 650}, kSurface, true, 3), true));
  const auto traits = unit(650);
  EXPECT_NEAR(test::unit_hours(runs, 1, 0, traits)["air_temperature"][2], 27, 1e-4);
  EXPECT_NEAR(test::unit_hours(runs, 1, 2, traits)["air_temperature"][2], 28, 1e-4);
  EXPECT_GT(test::unit_hours(runs, 1, 2, traits)["mixing_height"][2], test::unit_hours(runs, 1, 0, traits)["mixing_height"][2]);
}

// Block by block from a file as held whole, to the bit, in whatever order the points come.
TEST(RunWeather, AnEnsemblePutAsideSaysWhatOneHeldInMemorySays) {
  const Teller teller(kMorning, 9, {650, 640, 660, 655, 645}, kSurface, true, 3);
  const RunColumns held = told(teller, true);
  SlabSpool spool({2, 2, 5});                // a block may be empty
  for (int again = 0; again < 2; ++again) {  // a new plan forgets what came before
    spool.on_plan(teller.plan);
    for (std::size_t f = 0; f < teller.plan.fields.size(); ++f)
      if (!core::describe(teller.plan.fields[f].fed).on_levels)
        for (const auto& points : {teller.list({4, 0, 1}), teller.list({2, 3})})
          spool.on_slab(teller.slab(f, 0, teller.plan.steps.size(), points));
    for (const auto& points : {teller.list({3, 1, 4}), teller.list({0, 2})})
      for (std::size_t s = 0; s < teller.plan.steps.size(); s += 3)
        for (std::size_t f = 0; f < teller.plan.fields.size(); ++f)
          if (core::describe(teller.plan.fields[f].fed).on_levels) spool.on_slab(teller.slab(f, s, 1, points));
  }
  ASSERT_TRUE(spool.finish());
  for (const auto& [block, first, points] : {std::tuple(0u, 0u, 2u), std::tuple(2u, 2u, 3u)}) {
    RunColumns part(std::vector<core::Site>(points, site(650)), true, kKeepAll);
    ASSERT_TRUE(spool.tell(block, part));
    ASSERT_EQ(part.hours(), held.hours());
    for (std::size_t p = 0; p < points; ++p)
      for (std::size_t member = 0; member < 3; ++member)
        for (std::size_t hour = 0; hour < held.hours(); ++hour) {
          const RunColumns::Air one = part.air(p, member, hour), other = held.air(first + p, member, hour);
          EXPECT_EQ(one.mixing_height.value, other.mixing_height.value) << first + p << ' ' << member << ' ' << hour;
          EXPECT_EQ(one.transport_wind_speed.value, other.transport_wind_speed.value);
          EXPECT_EQ(part.surface(p, member, 0, hour).value, held.surface(first + p, member, 0, hour).value);
          EXPECT_EQ(part.model_elevation(p).value(), held.model_elevation(first + p).value());
        }
  }
}

TEST(UnitSeries, ComesBackFromItsBytesAndFromNoOthers) {
  for (const bool has_levels : {true, false}) {
    const RunColumns run = told(Teller(kMorning, 9, {650}, kSurface, has_levels));
    const UnitSeries series(run, 0, 0, site(650));
    const std::string bytes = series.pack();
    const auto again = UnitSeries::unpack(bytes, "");
    ASSERT_TRUE(again);
    EXPECT_EQ(again->pack(), bytes);
    for (std::size_t i = 0; i < series.hours(); ++i) {
      EXPECT_EQ(again->has_all(i), series.has_all(i));
      const RunHour one = series.hour(i), other = again->hour(i);
      for (std::size_t q = 0; q < kSurfaceQuantities; ++q) {
        const RunColumns::Value told_by_run = run.surface(0, 0, q, i);
        EXPECT_TRUE(one.surface[q].value == told_by_run.value || std::isnan(told_by_run.value)) << q;
        EXPECT_EQ(std::isnan(one.surface[q].value), std::isnan(told_by_run.value)) << q;
        EXPECT_EQ(other.surface[q].why, told_by_run.why) << q;
        EXPECT_EQ(other.surface[q].flags, told_by_run.flags) << q;
      }
      EXPECT_EQ(std::isnan(other.air.of_levels[kInversionStrength].value), !has_levels);
    }
    for (std::size_t size = 0; size < bytes.size(); ++size)
      EXPECT_FALSE(UnitSeries::unpack(std::string_view(bytes).substr(0, size), "")) << size;
    EXPECT_FALSE(UnitSeries::unpack(bytes + "x", ""));
    const UnitSeries part = series.before(series.first() + 4);
    EXPECT_EQ(part.hours(), 4u);
    EXPECT_EQ(part.hour(3).surface[0].value, series.hour(3).surface[0].value);
    EXPECT_EQ(part.hour(3).air.mixing_height.flags, series.hour(3).air.mixing_height.flags);
  }
}

}  // namespace
}  // namespace hakea::service
