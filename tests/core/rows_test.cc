// Every row of the catalogue on a unit's hours: missing inputs, readings, flags, plausible ranges.
#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <set>

#include "core/base/words.h"
#include "core/prescription/limit_hours.h"
#include "tests/core/unit_hours_builder.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

const LocalDate kDay = date(2027, 3, 30);

UnitHours rich_hours(const UnitTraits& unit) {
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 96);
  enter_state(hours, kDay);
  return hours;
}

TEST(Rows, StandAfterTheirInputs) {
  for (std::size_t q = 0; q < catalogue().size(); ++q) {
    const QuantityRow& row = catalogue()[q];
    for (const std::string_view word : words(row.inputs)) {
      if (const auto input = find_quantity(word)) {
        EXPECT_LT(*input, q) << row.key << " needs " << word;
      }
    }
  }
}

TEST(Rows, AreFiniteAndInRangeInFairWeather) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = rich_hours(unit);
  compute_all(hours);
  for (std::size_t q = 0; q < catalogue().size(); ++q)
    for (std::size_t i = 0; i < hours.hours; ++i) {
      if (hours.columns[q].is_missing(i)) {
        EXPECT_NE(hours.columns[q].why(i), Reason::none) << catalogue()[q].key;
        EXPECT_NE(hours.columns[q].why(i), Reason::not_finite) << catalogue()[q].key;
        continue;
      }
      EXPECT_GE(hours.columns[q][i], static_cast<float>(catalogue()[q].lowest)) << catalogue()[q].key << i;
      EXPECT_LE(hours.columns[q][i], static_cast<float>(catalogue()[q].highest)) << catalogue()[q].key << i;
    }
  for (const char* key : {"ffdi", "litter_moisture", "rate_of_spread", "scorch_height", "flame_height", "in_forest_wind_speed"})
    for (std::size_t i = 0; i < hours.hours; ++i) EXPECT_FALSE(hours[key].is_missing(i)) << key << i;
}

// Taking one input away from one hour makes each row that names it missing there, with that input's reason.
TEST(Rows, MissingInMissingOut) {
  const UnitTraits unit = forest_unit();
  const std::size_t hour = 50;
  for (const char* lost : {"air_temperature", "relative_humidity", "wind_speed"}) {
    UnitHours hours = rich_hours(unit);
    hours[lost].set_missing(hour, Reason::gap);
    compute_all(hours);
    std::set<std::string_view> gone{lost};
    for (const QuantityRow& row : catalogue()) {
      if (row.nature != Nature::instant || !row.compute || row.model.starts_with("given as a reading") ||
          row.key == "relative_humidity" || row.key == "dew_point_temperature")
        continue;
      const std::string inputs = ' ' + std::string(row.inputs) + ' ';
      bool needs = false;
      for (const auto key : gone) needs = needs || inputs.find(' ' + std::string(key) + ' ') != std::string::npos;
      if (!needs) continue;
      gone.insert(row.key);
      EXPECT_TRUE(hours[row.key].is_missing(hour)) << row.key << " without " << lost;
    }
    EXPECT_GT(gone.size(), 2u) << lost;
    EXPECT_EQ(hours["ffdi"].why(hour), Reason::gap) << lost;
  }
}

TEST(Rows, H27HoursWithNothingKnownAreMissingEverywhereWithAReason) {
  const UnitTraits unit = forest_unit();
  UnitHours hours(unit, nine_on(unit, kDay), 24);
  compute_all(hours);
  for (std::size_t q = 0; q < catalogue().size(); ++q) {
    const auto key = catalogue()[q].key;
    if (key == "solar_elevation" || key == "days_since_rain" || key == "hours_since_rain") continue;
    for (std::size_t i = 0; i < 24; ++i) {
      EXPECT_TRUE(hours.columns[q].is_missing(i)) << key;
      EXPECT_NE(hours.columns[q].why(i), Reason::none) << key;
    }
  }
}

TEST(HumidityRows, EachFollowsFromTheOther) {
  const UnitTraits unit = forest_unit();
  UnitHours hours(unit, nine_on(unit, kDay), 3);
  for (std::size_t i = 0; i < 3; ++i) hours["air_temperature"].set(i, 25);
  hours["dew_point_temperature"].set(0, 15);
  hours["relative_humidity"].set(1, 53.8);
  compute_all(hours);
  EXPECT_NEAR(hours["relative_humidity"][0], 53.8, 0.01);
  EXPECT_NEAR(hours["dew_point_temperature"][1], 15, 0.01);
  EXPECT_EQ(hours["relative_humidity"].why(2), Reason::not_in_feed);
}

TEST(HumidityRows, AReadingOfEitherReachesTheOtherAndWhatDependsOnThem) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 3);
  hours["dew_point_temperature"].set(0, 1);
  hours["dew_point_temperature"].set(1, 1);
  read(hours, "dew_point_temperature", 0, 9);
  read(hours, "relative_humidity", 1, 44);
  compute_all(hours);
  const double t0 = static_cast<double>(hours["air_temperature"][0]);
  EXPECT_NEAR(hours["vapour_pressure_deficit"][0], 6.112 * (std::exp(17.67 * t0 / (t0 + 243.5)) - std::exp(17.67 * 9 / 252.5)),
              1e-3);
  EXPECT_EQ(hours["dew_point_temperature"][0], 9);
  EXPECT_EQ(hours["relative_humidity"][1], 44);
  EXPECT_GT(hours["dew_point_temperature"][1], 1);
}

TEST(HumidityRows, H26AreHeldToSaturationAndFaultsAreDropped) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 3);
  hours["relative_humidity"].set(0, 100.4);
  hours["relative_humidity"].set(1, 131);
  hours["dew_point_temperature"].set(2, 60);
  compute_all(hours);
  EXPECT_EQ(hours["relative_humidity"][0], 100);
  EXPECT_TRUE(hours["relative_humidity"].is_missing(1));
  EXPECT_EQ(hours["dew_point_temperature"][2], hours["air_temperature"][2]);
}

TEST(WindShiftRow, IsTheLargestTurnOfTwoHoursUnlessTheWindIsLight) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 7);
  const double from[] = {350, 350, 10, 80, 80, 80, 80}, speed[] = {20, 20, 20, 14.9, 15, 20, 20};
  for (std::size_t i = 0; i < 7; ++i) {
    hours["wind_from_direction"].set(i, from[i]);
    hours["wind_speed"].set(i, speed[i]);
  }
  hours["wind_from_direction"].set_missing(6, Reason::gap);
  compute_all(hours);
  const Column& shift = hours["wind_shift"];
  EXPECT_TRUE(shift.is_missing(0) && shift.is_missing(1));
  EXPECT_EQ(shift[2], 20);
  EXPECT_EQ(shift[3], 0);
  EXPECT_EQ(shift[4], 70);
  EXPECT_EQ(shift[5], 0);
  EXPECT_EQ(shift.why(6), Reason::gap);
}

TEST(ForestWindRow, TakesTheUnitsReductionBeforeTheGuides) {
  UnitTraits unit = forest_unit();
  UnitHours guide = fair_hours(unit, nine_on(unit, kDay), 1);
  guide["wind_speed"].set(0, 20);
  compute_all(guide);
  EXPECT_FLOAT_EQ(guide["in_forest_wind_speed"][0], 5.254F);
  unit.fuel.wind_reduction = 4;
  UnitHours own = fair_hours(unit, nine_on(unit, kDay), 1);
  own["wind_speed"].set(0, 20);
  compute_all(own);
  EXPECT_EQ(own["in_forest_wind_speed"][0], 5);
}

TEST(FireRows, OutsideTheDomainAreFlaggedAllTheWayDown) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = rich_hours(unit);
  read(hours, "litter_moisture", 5, 27);
  compute_all(hours);
  for (const char* key : {"rate_of_spread", "fireline_intensity", "flame_length", "flame_height", "scorch_height"})
    EXPECT_NE(hours[key].flags(5) & flag::kOutOfDomain, 0) << key;
}

TEST(FireRows, SayWhyThereIsNoSpread) {
  UnitTraits unit = forest_unit();
  unit.fuel.load = TonnesPerHectare::missing();
  UnitHours no_load = rich_hours(unit);
  compute_all(no_load);
  unit.fuel.spread_model = SpreadModel::none;
  UnitHours no_model = rich_hours(unit);
  compute_all(no_model);
  for (const char* key : {"rate_of_spread", "fireline_intensity", "flame_length", "flame_height", "scorch_height"}) {
    EXPECT_EQ(no_load[key].why(0), Reason::no_parameter) << key;
  }
  EXPECT_EQ(no_model["rate_of_spread"].why(0), Reason::no_model);
  EXPECT_EQ(no_model["flame_height"].why(0), Reason::no_model);
  EXPECT_EQ(no_model["fireline_intensity"].why(0), Reason::no_model);
}

TEST(DailyReadings, StandUntilTheNextDeterminingHour) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 48);
  read(hours, "days_since_rain", 10, 33);
  read(hours, "dc", 5, 250);
  read(hours, "bui", 6, 40);
  compute_all(hours);
  EXPECT_NE(hours["days_since_rain"][9], 33);
  EXPECT_EQ(hours["days_since_rain"][10], 33);
  EXPECT_EQ(hours["days_since_rain"][23], 33);
  EXPECT_NE(hours["days_since_rain"][24], 33);
  EXPECT_EQ(hours["dc"].why(4), Reason::no_state);
  EXPECT_EQ(hours["dc"][26], 250);
  EXPECT_NE(hours["dc"][27], 250);  // noon
  EXPECT_EQ(hours["bui"][26], 40);
  EXPECT_TRUE(hours["bui"].is_missing(27));
}

TEST(Readings, OfAnythingStandForTheirHour) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = rich_hours(unit);
  read(hours, "ffdi", 3, 44);
  read(hours, "wind_speed", 4, 60);
  compute_all(hours);
  EXPECT_EQ(hours["ffdi"][3], 44);
  EXPECT_EQ(hours["ffdi"].flags(3), flag::kReading);
  EXPECT_GT(hours["ffdi"][4], hours["ffdi"][5] * 2);
}

TEST(Rows, HoursAddedAtTheEndNeverChangeEarlierHours) {
  const UnitTraits unit = forest_unit();
  UnitHours longer = rich_hours(unit);
  UnitHours shorter(unit, longer.first, 71);
  fill_weather(shorter);
  shorter.initial_state = longer.initial_state;
  compute_all(longer);
  compute_all(shorter);
  for (std::size_t q = 0; q < catalogue().size(); ++q)
    for (std::size_t i = 0; i < shorter.hours; ++i) {
      ASSERT_EQ(shorter.columns[q].is_missing(i), longer.columns[q].is_missing(i)) << catalogue()[q].key << i;
      if (!shorter.columns[q].is_missing(i)) {
        ASSERT_EQ(shorter.columns[q][i], longer.columns[q][i]) << catalogue()[q].key << i;
      }
    }
}

bool same_bits(const Column& a, const Column& b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i)
    if (std::bit_cast<std::uint32_t>(a[i]) != std::bit_cast<std::uint32_t>(b[i]) || a.flags(i) != b.flags(i) ||
        a.why(i) != b.why(i))
      return false;
  return true;
}

// Every row on its own, for each kind of fuel, with and without readings.
TEST(Rows, ComeOutTheSameWhenOnlyWhatTheyNeedIsComputed) {
  for (const MoistureModel model :
       {MoistureModel::eucalypt_litter, MoistureModel::grass, MoistureModel::heath, MoistureModel::none})
    for (const bool is_read : {false, true}) {
      UnitTraits unit = forest_unit();
      unit.fuel.moisture_model = model;
      unit.fuel.is_forest = model == MoistureModel::eucalypt_litter;
      UnitHours given = rich_hours(unit);
      if (is_read)
        for (const QuantityRow& row : catalogue())
          read(given, row.key, 40, row.lowest + 0.1 * (std::min(row.highest, 50.0) - row.lowest));
      UnitHours whole = given;
      compute_all(whole);
      for (std::size_t q = 0; q < catalogue().size(); ++q) {
        UnitHours part = given;
        compute_all(part, Rows().set(q));
        EXPECT_TRUE(same_bits(part.columns[q], whole.columns[q])) << catalogue()[q].key;
        // Nor does it read what it does not name.
        UnitHours named(*given.unit, given.first, given.hours);
        std::swap(named.columns, part.columns = given.columns);
        const Rows read = with_all_inputs(Rows().set(q));
        for (std::size_t r = 0; r < catalogue().size(); ++r)
          if (!read[r]) named.columns[r] = UnitHours(*given.unit, given.first, given.hours).columns[r];
        named.initial_state = given.initial_state, named.readings = given.readings;
        compute_all(named, Rows().set(q));
        EXPECT_TRUE(same_bits(named.columns[q], whole.columns[q])) << catalogue()[q].key;
      }
    }
}

TEST(Rows, NeedWhatTheirInputsNeed) {
  const Rows needed = with_inputs(Rows().set(quantity_index("ffdi")));
  for (const char* key : {"ffdi", "drought_factor", "kbdi", "relative_humidity"}) EXPECT_TRUE(needed[quantity_index(key)]) << key;
  for (const char* key : {"litter_moisture", "solar_elevation", "mixing_height"})
    EXPECT_FALSE(needed[quantity_index(key)]) << key;
}

TEST(Rows, NameWhatTheyRestOnAndWithLevelsWhatTheFedOnesAreMadeOf) {
  const Rows index = Rows().set(quantity_index("ventilation_index"));
  const auto fed = names_behind(index, false), made = names_behind(index, true);
  for (const char* key : {"mixing_height", "transport_wind_speed", "wind_speed"}) EXPECT_TRUE(fed.contains(key)) << key;
  EXPECT_FALSE(fed.contains("cloud_area_fraction"));
  EXPECT_TRUE(made.contains("cloud_area_fraction"));
  EXPECT_FALSE(made.contains("shortwave_radiation"));
}

TEST(Rows, OfLimitsAreTheirQuantitiesAndTheWindSpeedOfADirection) {
  Prescription prescription;
  prescription.limits.resize(2);
  prescription.limits[0].quantity = quantity_index("transport_wind_from_direction");
  prescription.limits[1].quantity = quantity_index("ffdi");
  EXPECT_EQ(rows_of_limits(prescription), Rows()
                                              .set(quantity_index("transport_wind_from_direction"))
                                              .set(quantity_index("transport_wind_speed"))
                                              .set(quantity_index("ffdi")));
}

}  // namespace
}  // namespace hakea::test
