// The spread models as one list: what holds for every row, and what the unit's hours make of it.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "core/base/words.h"
#include "core/catalogue/catalogue.h"
#include "core/fire/slope.h"
#include "core/fire/spread_grassland.h"
#include "core/fire/spread_heath.h"
#include "core/fire/spread_models.h"
#include "tests/core/unit_hours_builder.h"

namespace hakea::core {

static void PrintTo(const SpreadModelRow& row, std::ostream* out) { *out << row.key; }

namespace {

using test::fair_hours;
using test::forest_unit;

// A fuel that gives every parameter that a model could ask for.
Fuel rich_fuel(SpreadModel model) {
  Fuel fuel;
  fuel.spread_model = model;
  fuel.is_wet_forest = true;
  fuel.load = TonnesPerHectare(model == SpreadModel::rothermel ? 3 : 12);
  fuel.age_years = 10;
  fuel.height = Metres(model == SpreadModel::rothermel ? 0.3 : 0.15);
  fuel.curing = Percent(80);
  fuel.grass = GrassState::natural;
  fuel.tree_factor = 1;
  fuel.wind_reduction = 3;
  fuel.canopy_height = Metres(3);
  fuel.canopy_cover = Percent(30);
  fuel.surface_score = 3;
  fuel.near_surface_score = 2;
  fuel.elevated_score = 2;
  fuel.elevated_height = Metres(1);
  fuel.ground_cover = Percent(45);
  if (model == SpreadModel::rothermel) {
    fuel.live_herb_moisture = Percent(70);
    fuel.live_woody_moisture = Percent(90);
    fuel.bed = FuelBed{{0.06, 0.05, 0.04, 0.03, 0.05}, {2000, 109, 30, 1800, 1600}, 1, 25, 8000, true};
  }
  return completed(fuel);
}

constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();

struct Weather {
  double wind = 15, moisture = 8, ffdi = 20, drought_factor = 9, kbdi = 100;
};

SpreadInputs inputs(const Fuel& fuel, const Weather& weather, double slope = 5) {
  SpreadInputs in = spread_inputs(fuel, Degrees(slope));
  in.open_wind = KilometresPerHour(weather.wind);
  in.forest_wind = KilometresPerHour(weather.wind / 3);
  in.moisture = Percent(weather.moisture);
  in.moisture_10h = Percent(weather.moisture + 1);
  in.moisture_100h = Percent(weather.moisture + 2);
  in.ffdi = One(weather.ffdi);
  in.drought_factor = One(weather.drought_factor);
  in.kbdi = Millimetres(weather.kbdi);
  return in;
}

class EverySpreadModel : public ::testing::TestWithParam<SpreadModelRow> {
 protected:
  const SpreadModelRow& row = GetParam();
  Fuel fuel = rich_fuel(row.id);

  double spread(const Weather& weather, double slope = 5) const { return row.spread(inputs(fuel, weather, slope)).value(); }
};

TEST_P(EverySpreadModel, IsFiniteAndInItsDomainInFairWeather) {
  EXPECT_GT(spread({}), 0);
  EXPECT_TRUE(row.in_domain(inputs(fuel, {})));
  for (const double wind : {0.0, 3.0, 5.0, 10.0, 40.0, 80.0})
    for (const double moisture : {2.0, 4.0, 9.0, 18.0, 30.0, 120.0})
      for (const double slope : {-30.0, 0.0, 15.0, 40.0}) {
        const double r = spread({.wind = wind, .moisture = moisture}, slope);
        EXPECT_TRUE(std::isfinite(r) && r >= 0) << wind << " " << moisture << " " << slope << ": " << r;
      }
}

TEST_P(EverySpreadModel, RisesWithWindAndSlopeAndFallsWithMoisture) {
  for (double wind = 0; wind < 60; wind += 1) EXPECT_GE(spread({.wind = wind + 1}), spread({.wind = wind}) * (1 - 1e-12)) << wind;
  for (double m = 3; m < 40; m += 0.5) EXPECT_LE(spread({.moisture = m + 0.5}), spread({.moisture = m}) * (1 + 1e-12)) << m;
  for (double slope = -40; slope < 40; slope += 1) EXPECT_GE(spread({}, slope + 1), spread({}, slope)) << slope;
  EXPECT_GE(spread({.ffdi = 30}), spread({.ffdi = 20}));
}

TEST_P(EverySpreadModel, IsMissingWhereAnInputThatItNamesIsMissing) {
  for (const std::string_view name : words(row.inputs)) {
    const auto& known = known_spread_inputs();
    const auto input = std::find_if(known.begin(), known.end(), [&](const SpreadInput& i) { return i.name == name; });
    ASSERT_NE(input, known.end()) << name;
    if (!input->set) continue;
    SpreadInputs in = inputs(fuel, {});
    input->set(in, kMissing);
    EXPECT_TRUE(row.spread(in).is_missing()) << name;
  }
  EXPECT_TRUE(row.spread(inputs(fuel, {}, kMissing)).is_missing());
}

// The hours say no_parameter for each property that the model names and nobody gave.
TEST_P(EverySpreadModel, NeedsThePropertiesThatItNames) {
  const auto lacking = [&](auto take_away) {
    UnitTraits unit = forest_unit();
    unit.fuel = fuel;
    unit.fuel.moisture_model = MoistureModel::none;
    take_away(unit.fuel);
    UnitHours hours = fair_hours(unit, UtcHour{400000}, 1);
    for (const auto& [key, value] : {std::pair{"litter_moisture", 9.0},
                                     {"dead_fuel_moisture_10h", 10.0},
                                     {"ffdi", 20.0},
                                     {"dead_fuel_moisture_100h", 11.0},
                                     {"drought_factor", 9.0},
                                     {"kbdi", 100.0}})
      test::read(hours, key, 0, value);
    compute_all(hours);
    return hours["rate_of_spread"].why(0);
  };
  EXPECT_EQ(lacking([](Fuel&) {}), Reason::none);
  const std::vector<std::pair<std::string_view, void (*)(Fuel&)>> properties{
      {"fuel.load_t_ha", [](Fuel& f) { f.load = TonnesPerHectare::missing(); }},
      {"fuel.age_years", [](Fuel& f) { f.age_years = kMissing; }},
      {"fuel.height_m", [](Fuel& f) { f.height = Metres::missing(); }},
      {"fuel.curing_pct", [](Fuel& f) { f.curing = Percent::missing(); }},
      {"fuel.wind_reduction", [](Fuel& f) { f.wind_reduction = kMissing; }},
      {"fuel.canopy_height_m", [](Fuel& f) { f.canopy_height = Metres::missing(); }},
      {"fuel.canopy_cover_pct", [](Fuel& f) { f.canopy_cover = Percent::missing(); }},
      {"fuel.ground_cover_pct", [](Fuel& f) { f.ground_cover = Percent::missing(); }},
      {"fuel.grass", [](Fuel& f) { f.grass = GrassState::none; }},
      {"fuel.tree_factor", [](Fuel& f) { f.tree_factor = kMissing; }},
      {"fuel.surface_score", [](Fuel& f) { f.surface_score = kMissing; }},
      {"fuel.near_surface_score", [](Fuel& f) { f.near_surface_score = kMissing; }},
      {"fuel.elevated_score", [](Fuel& f) { f.elevated_score = kMissing; }},
      {"fuel.elevated_height_m", [](Fuel& f) { f.elevated_height = Metres::missing(); }},
      {"fuel.bed", [](Fuel& f) { f.bed.reset(); }},
      {"fuel.live_herb_moisture_pct", [](Fuel& f) { f.live_herb_moisture = Percent::missing(); }},
      {"fuel.live_woody_moisture_pct", [](Fuel& f) { f.live_woody_moisture = Percent::missing(); }},
  };
  for (const std::string_view name : words(row.inputs)) {
    if (!name.starts_with("fuel.")) continue;
    const auto property = std::find_if(properties.begin(), properties.end(), [&](const auto& p) { return p.first == name; });
    ASSERT_NE(property, properties.end()) << name;
    EXPECT_EQ(lacking(property->second), Reason::no_parameter) << name;
  }
}

TEST_P(EverySpreadModel, SaysWhereItComesFrom) {
  for (const std::string_view text : {row.title, row.source, row.equation, row.domain, row.inputs, row.intensity})
    EXPECT_FALSE(text.empty());
  EXPECT_EQ(find_spread_model(row.key), find_spread_model(row.id));
  EXPECT_FALSE(row.flame_height_of_spread && row.flame_height_of_intensity);
  EXPECT_EQ(row.flame_height.empty(), !row.flame_height_of_spread && !row.flame_height_of_intensity);
  const auto named = words(catalogue()[quantity_index("rate_of_spread")].inputs);
  for (const std::string_view name : words(row.inputs))
    if (find_quantity(name)) {
      EXPECT_NE(std::find(named.begin(), named.end(), name), named.end()) << name;
    }
  EXPECT_EQ(spread_status(fuel), row.status);
  fuel.spread_status = Status::provisional;
  EXPECT_EQ(spread_status(fuel), Status::provisional);
}

INSTANTIATE_TEST_SUITE_P(Models, EverySpreadModel, ::testing::ValuesIn(spread_models().begin(), spread_models().end()),
                         [](const auto& model) { return std::string(model.param.key); });

TEST(ControlBurning, SaysWhereItsDomainEnds) {
  const SpreadModelRow& row = *find_spread_model(SpreadModel::control_burning);
  const auto in = [&](double load, double forest_wind, double moisture, double slope) {
    Fuel fuel;
    fuel.load = TonnesPerHectare(load);
    SpreadInputs inputs = spread_inputs(fuel, Degrees(slope));
    inputs.forest_wind = KilometresPerHour(forest_wind);
    inputs.moisture = Percent(moisture);
    return row.in_domain(inputs);
  };
  EXPECT_TRUE(in(5, 0, 25, 15));
  EXPECT_FALSE(in(4.9, 3, 12, 5));
  EXPECT_FALSE(in(12, 10.1, 12, 5));
  EXPECT_FALSE(in(12, 3, 25.1, 5));
  EXPECT_FALSE(in(12, 3, 12, 15.1));
}

TEST(Slope, DownhillStaysAboveHalfAndMeetsTheLevel) {
  EXPECT_DOUBLE_EQ(slope_factor(Degrees(0)), 1);
  EXPECT_NEAR(slope_factor(Degrees(-1e-9)), 1, 1e-9);
  for (double theta = -60; theta < 0; theta += 1) EXPECT_GT(slope_factor(Degrees(theta)), 0.5);
  EXPECT_TRUE(std::isnan(slope_factor(Degrees::missing())));
  EXPECT_FALSE(in_slope_domain(Degrees(20.1)));
  EXPECT_FALSE(in_slope_domain(Degrees::missing()));
}

TEST(Heath, MeetsItselfAtFiveKilometresAnHour) {
  const Fuel fuel = rich_fuel(SpreadModel::heath);
  const double below = heath_spread(inputs(fuel, {.wind = 5 - 1e-9})).value(),
               at = heath_spread(inputs(fuel, {.wind = 5})).value();
  EXPECT_NEAR(below / at, 1, 1e-8);
}

TEST(FuelBed, HoldsTheSpreadToTheEffectiveWind) {
  Fuel fuel = rich_fuel(SpreadModel::rothermel);
  fuel.bed = FuelBed{{0.03, 0, 0, 0, 0}, {3500, 109, 30, 0, 0}, 6, 40, 8000, false};
  fuel.load = TonnesPerHectare::missing();
  fuel.height = Metres::missing();
  fuel = completed(fuel);
  bool was_held = false;
  for (double wind = 0; wind < 120; wind += 4) {
    const SpreadInputs in = inputs(fuel, {.wind = wind, .moisture = 2}, 0);
    const RothermelHour hour = rothermel_hour(in);
    EXPECT_LE(hour.rate, std::max(wind / 3 / 1.609344 * 88, hour.level_calm_rate) * (1 + 1e-9)) << wind;
    EXPECT_EQ(in_rothermel_domain(in), !hour.is_held);
    was_held = was_held || hour.is_held;
  }
  EXPECT_TRUE(was_held);
}

TEST(Fuel, LoadFollowsFromAgeWhereTheTypeKnowsHow) {
  Fuel fuel;
  fuel.steady_load = TonnesPerHectare(20);
  fuel.accumulation_per_year = 0.2;
  EXPECT_TRUE(completed(fuel).load.is_missing());  // no age
  fuel.age_years = 10;
  EXPECT_NEAR(completed(fuel).load.value(), 20 * (1 - std::exp(-2.0)), 1e-12);
  fuel.load = TonnesPerHectare(7);
  EXPECT_EQ(completed(fuel).load.value(), 7);
}

TEST(FireRows, TakeTheFlameLengthAndScorchThatTheFuelNames) {
  UnitTraits unit = forest_unit();
  const auto computed = [&] {
    UnitHours hours = fair_hours(unit, UtcHour{400000}, 1);
    test::read(hours, "fireline_intensity", 0, 500);
    test::read(hours, "air_temperature", 0, 25);
    test::read(hours, "in_forest_wind_speed", 0, 10);
    compute_all(hours);
    return std::pair{hours["flame_length"][0], hours["scorch_height"][0]};
  };
  EXPECT_NEAR(computed().first, 1.3515, 1e-4);   // Byram
  EXPECT_NEAR(computed().second, 8.0478, 1e-4);  // Van Wagner form 2
  unit.fuel.flame_length = FlameLength::thomas;
  unit.fuel.scorch = Scorch::wind;
  EXPECT_NEAR(computed().first, 1.6757, 1e-4);
  EXPECT_NEAR(computed().second, 5.1038, 1e-4);  // form 3
  unit.fuel.scorch = Scorch::mean_air;
  unit.fuel.scorch_factor = 1.5;
  EXPECT_NEAR(computed().second, 1.5 * 9.3423, 1e-3);  // form 1
}

}  // namespace
}  // namespace hakea::core
