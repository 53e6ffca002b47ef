// Rain history, drought index and drought factor over the record and the carried state.
#include <gtest/gtest.h>

#include <cmath>

#include "core/catalogue/carry.h"
#include "core/wetness/drought.h"
#include "tests/core/unit_hours_builder.h"

namespace hakea::test {
namespace {

using namespace hakea::core;
using std::chrono::days;

const LocalDate kDay = date(2027, 3, 30);

struct Rain {
  Column hourly;
  TimeZone zone = TimeZone::fixed("ten", std::chrono::hours(10));
  UtcHour first;
  std::optional<WetnessState> state;

  // Begins at 09:00 on kDay.
  explicit Rain(int rain_days) : hourly(static_cast<std::size_t>(24 * rain_days)), first(UtcHour::of(zone.rain_day_end(kDay))) {
    for (std::size_t i = 0; i < hourly.size(); ++i) hourly.set(i, 0);
  }
  RainRecord record() const { return {&hourly, first, &zone, &state}; }
};

TEST(DaysSinceRain, IsZeroOnTheRainDayAndCountsFromNineLocalStandardTime) {
  Rain rain(4);
  rain.hourly.set(20, 1.5);
  rain.hourly.set(21, 0.5);
  const Column since = days_since_rain(rain.record());
  EXPECT_EQ(since[23], 0);
  EXPECT_NE(since.flags(23) & flag::kAtLeast, 0);
  EXPECT_EQ(since[24], 0);
  EXPECT_EQ(since.flags(24), 0);
  EXPECT_EQ(since[47], 0);
  EXPECT_EQ(since[48], 1);
  EXPECT_EQ(since[95], 2);
}

TEST(DaysSinceRain, WithoutRainIsTheLengthOfTheRecordInWholeRainDays) {
  Rain rain(3);
  rain.first = rain.first - 9;  // from midnight: nine hours belong to the day before
  const Column since = days_since_rain(rain.record());
  EXPECT_EQ(since[0], 0);
  EXPECT_EQ(since[9], 0);
  EXPECT_EQ(since[32], 0);
  EXPECT_EQ(since[33], 1);
  EXPECT_EQ(since[57], 2);
  EXPECT_EQ(since.flags(57), flag::kAtLeast);
}

TEST(DaysSinceRain, TakesAnotherThreshold) {
  Rain rain(3);
  rain.hourly.set(5, 3);
  EXPECT_EQ(days_since_rain(rain.record(), 2).flags(30), 0);
  EXPECT_EQ(days_since_rain(rain.record(), 4).flags(30), flag::kAtLeast);
}

TEST(DaysSinceRain, IsUnknownAfterARainDayWithMissingHoursUntilItRainsAgain) {
  Rain rain(5);
  rain.hourly.set(3, 8);
  rain.hourly.set_missing(30, Reason::gap);
  rain.hourly.set(75, 4);
  const Column since = days_since_rain(rain.record());
  EXPECT_EQ(since[47], 0);
  EXPECT_TRUE(since.is_missing(48));
  EXPECT_EQ(since.why(48), Reason::gap);
  EXPECT_TRUE(since.is_missing(95));
  EXPECT_EQ(since[96], 0);
}

TEST(DaysSinceRain, IsKnownWhereEnoughFellInTheHoursThatAreThere) {
  Rain rain(3);
  rain.hourly.set(3, 8);
  rain.hourly.set_missing(4, Reason::gap);
  EXPECT_EQ(days_since_rain(rain.record())[48], 1);
}

TEST(DaysSinceRain, GoesOnFromTheLastRainThatAPersonEntered) {
  Rain rain(3);
  rain.state.emplace();
  rain.state->as_of = kDay;
  rain.state->last_rain = RainEvent{rain.zone.rain_day_end(kDay - days(7)) - std::chrono::hours(5), Millimetres(6)};
  const Column since = days_since_rain(rain.record());
  EXPECT_EQ(since[0], 7);
  EXPECT_EQ(since.flags(0), 0);
  EXPECT_EQ(since[48], 9);
  const Column h = hours_since_rain(rain.record());
  EXPECT_EQ(h[0], 7 * 24 + 5);
  EXPECT_EQ(h.flags(0), 0);
}

TEST(HoursSinceRain, CountsFromTheEndOfTheLastWetHour) {
  Rain rain(1);
  rain.hourly.set(4, 0.2);
  rain.hourly.set(5, 0.1);
  const Column since = hours_since_rain(rain.record());
  EXPECT_EQ(since[0], 0);
  EXPECT_EQ(since.flags(0), flag::kAtLeast);
  EXPECT_EQ(since[4], 4);
  EXPECT_EQ(since[5], 0);
  EXPECT_EQ(since.flags(5), 0);
  EXPECT_EQ(since[10], 5);
}

TEST(HoursSinceRain, CountsFromTheEndOfAGapAtLeast) {
  Rain rain(1);
  rain.hourly.set(2, 1);
  rain.hourly.set_missing(6, Reason::gap);
  const Column since = hours_since_rain(rain.record());
  EXPECT_EQ(since[6], 3);
  EXPECT_EQ(since[10], 3);
  EXPECT_EQ(since.flags(10), flag::kAtLeast);
}

TEST(RainDay, FollowsStandardTimeThroughDaylightSaving) {
  const auto utc = [](int m, int d, int h) {
    return UtcTime(std::chrono::sys_days(std::chrono::year(2027) / m / d)) + std::chrono::hours(h);
  };
  Rain rain(0);
  rain.zone = TimeZone("test", {{UtcTime::min(), std::chrono::hours(11), std::chrono::hours(10)},
                                {utc(4, 3, 16), std::chrono::hours(10), std::chrono::hours(10)}});
  for (const RainDaySpan& span : rain_day_spans(UtcHour::of(utc(4, 1, 23)), 96, rain.zone)) {
    EXPECT_EQ(span.end - span.begin, 24u);
    EXPECT_TRUE(span.has_start && span.has_end);
  }
}

TEST(Kbdi, DryingNeverWetsTheSoilInTheCold) {
  const KbdiDay day = kbdi_step({50}, {0, 0}, Millimetres(800));
  EXPECT_EQ(day.kbdi_mm, 50);
  EXPECT_LT(kbdi_step({50}, {0, 0}, Millimetres(800), {.drying_never_negative = false}).kbdi_mm, 50);
}

TEST(Kbdi, DrizzleDoesNotKeepTheCanopyFull) {
  const KbdiDay wet = kbdi_step({50}, {20, 20}, Millimetres(800));
  EXPECT_EQ(wet.store_mm, 0);
  EXPECT_EQ(kbdi_step(wet, {0.1, 20}, Millimetres(800)).store_mm, kInterception);
  EXPECT_EQ(kbdi_step(wet, {0.1, 20}, Millimetres(800), {.dry_day_mm = 0}).store_mm, 0);
}

TEST(Kbdi, MissingInMissingOut) {
  EXPECT_TRUE(std::isnan(kbdi_step({50}, {std::nan(""), 20}, Millimetres(800)).kbdi_mm));
  EXPECT_TRUE(std::isnan(kbdi_step({50}, {0, std::nan("")}, Millimetres(800)).kbdi_mm));
  EXPECT_TRUE(std::isnan(kbdi_step({50}, {0, 20}, Millimetres::missing()).kbdi_mm));
  EXPECT_TRUE(drought_factor(std::array{0.0, std::nan("")}, Millimetres(50)).is_missing());
}

TEST(DroughtFactor, EquivalentRainGivesTheFactorBack) {
  for (const double smd : {20.0, 60.0, 120.0})
    for (const double rain : {5.0, 12.0, 40.0}) {
      const One factor = drought_factor(std::array{rain}, Millimetres(smd));
      EXPECT_NEAR(equivalent_rain_mm(factor, Millimetres(smd)), rain, 1e-6) << smd;
    }
  EXPECT_EQ(equivalent_rain_mm(One(10), Millimetres(150)), 0);
}

UnitHours with_state(const UnitTraits& unit, std::size_t count, UtcHour first) {
  UnitHours hours = fair_hours(unit, first, count);
  enter_state(hours, kDay);
  return hours;
}

TEST(Kbdi, H21WithoutStateIsUnknownAndNeverZero) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 240);
  compute_all(hours);
  for (const char* key : {"kbdi", "drought_factor", "ffdi"})
    for (std::size_t i = 0; i < hours.hours; ++i) {
      ASSERT_TRUE(hours[key].is_missing(i)) << key;
      EXPECT_EQ(hours[key].why(i), Reason::no_state) << key;
    }
}

TEST(Kbdi, H21CountsAfterAYearOfRecord) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 24 * 370);
  compute_all(hours);
  EXPECT_TRUE(hours["kbdi"].is_missing(24 * 365 - 1));
  EXPECT_FALSE(hours["kbdi"].is_missing(24 * 365));
  EXPECT_EQ(hours["drought_factor"].flags(24 * 366), 0);
}

TEST(Kbdi, StateStandsFromItsDayAndIsNeverAdvancedTwice) {
  const UnitTraits unit = forest_unit();
  UnitHours inside = with_state(unit, 24 * 6, nine_on(unit, kDay) - 30);
  compute_all(inside);
  EXPECT_TRUE(inside["kbdi"].is_missing(29));
  EXPECT_EQ(inside["kbdi"][30], 83);
  UnitHours at_start = with_state(unit, 24 * 5, nine_on(unit, kDay));
  compute_all(at_start);
  for (std::size_t i = 0; i < 100; ++i) EXPECT_EQ(inside["kbdi"][i + 30], at_start["kbdi"][i]);
  EXPECT_NE(at_start["kbdi"][24], 83);
}

TEST(Kbdi, AReadingReplacesTheIndexAndTheModelGoesOnFromIt) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = with_state(unit, 24 * 4, nine_on(unit, kDay));
  read(hours, "kbdi", 30, 120);
  compute_all(hours);
  EXPECT_LT(hours["kbdi"][29], 100);
  EXPECT_EQ(hours["kbdi"][30], 120);
  EXPECT_EQ(hours["kbdi"][47], 120);
  EXPECT_NE(hours["kbdi"].flags(47) & flag::kReading, 0);
  EXPECT_NEAR(hours["kbdi"][48], 120, 5);
  EXPECT_NE(hours["kbdi"][48], 120);
  EXPECT_EQ(hours["kbdi"].flags(48) & flag::kReading, 0);
}

TEST(Kbdi, ADayWithMissingRainIsFlaggedAndManyMakeItUnknown) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = with_state(unit, 24 * 10, nine_on(unit, kDay));
  lose(hours, "precipitation_amount", 30, 24 * 7);
  compute_all(hours);
  EXPECT_EQ(hours["kbdi"].flags(47), 0);
  EXPECT_EQ(hours["kbdi"].flags(48), flag::kSpinUp);
  EXPECT_TRUE(hours["kbdi"].is_missing(24 * 7 + 1));
  EXPECT_EQ(hours["kbdi"].why(24 * 7 + 1), Reason::gap);
}

TEST(Kbdi, WithoutAnnualRainIsUnknownForWantOfAParameter) {
  UnitTraits unit = forest_unit();
  unit.annual_rain = Millimetres::missing();
  UnitHours hours = with_state(unit, 48, nine_on(unit, kDay));
  compute_all(hours);
  EXPECT_EQ(hours["kbdi"][0], 83);
  EXPECT_EQ(hours["kbdi"].why(24), Reason::no_parameter);
}

TEST(DroughtFactor, AfterAnEnteredLastRainIsComputedAndFlagged) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = with_state(unit, 48, nine_on(unit, kDay));
  compute_all(hours);
  ASSERT_FALSE(hours["drought_factor"].is_missing(0));
  EXPECT_EQ(hours["drought_factor"].flags(0), flag::kSpinUp);
  std::vector<double> twenty(20, 0.0);
  twenty[12] = 6;  // on the rain day seven days before
  EXPECT_FLOAT_EQ(hours["drought_factor"][0], static_cast<float>(drought_factor(twenty, Millimetres(83)).value()));
}

TEST(DroughtFactor, IsFirmOnceTwentyRainDaysAreKnown) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = with_state(unit, 24 * 15, nine_on(unit, kDay));
  compute_all(hours);
  EXPECT_EQ(hours["drought_factor"].flags(24 * 11), flag::kSpinUp);
  EXPECT_EQ(hours["drought_factor"].flags(24 * 12), 0);  // 7 days before the state, its event day, and 12 since
}

TEST(DroughtFactor, AnEnteredFactorStandsForItsDayAndRecoversFromIt) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = with_state(unit, 24 * 3, nine_on(unit, kDay));
  for (std::size_t i = 0; i < hours.hours; ++i) hours["precipitation_amount"].set(i, 0);
  hours.initial_state->last_rain.reset();
  hours.initial_state->drought_factor = One(5);
  compute_all(hours);
  const Column& df = hours["drought_factor"];
  EXPECT_EQ(df[0], 5);
  EXPECT_EQ(df[23], 5);
  EXPECT_GT(df[24], 5);
  EXPECT_EQ(df.flags(24), flag::kSpinUp);
  EXPECT_GT(df[48], df[24]);
}

// The hours of a long run and of two runs that meet at a rain day's end, the second from the state of the first.
void expect_two_pieces_equal_one(const UnitTraits& unit, const UnitHours& whole_in, std::size_t cut, UtcHour second_first) {
  UnitHours whole = whole_in;
  compute_all(whole);
  UnitHours one(unit, whole_in.first, cut),
      two(unit, second_first, whole_in.hours - static_cast<std::size_t>(second_first - whole_in.first));
  one.initial_state = whole_in.initial_state;
  const auto offset = static_cast<std::size_t>(second_first - whole_in.first);
  const auto copy = [](const Column& from, std::size_t at, Column& to) {
    for (std::size_t i = 0; i < to.size(); ++i)
      if (from.is_missing(i + at))
        to.set_missing(i, from.why(i + at));
      else
        to.set(i, static_cast<double>(from[i + at]), from.flags(i + at));
  };
  for (std::size_t q = 0; q < whole_in.columns.size(); ++q) {
    copy(whole_in.columns[q], 0, one.columns[q]);
    copy(whole_in.columns[q], offset, two.columns[q]);
    if (whole_in.readings[q].empty()) continue;
    one.readings[q] = Column(one.hours);
    two.readings[q] = Column(two.hours);
    copy(whole_in.readings[q], 0, one.readings[q]);
    copy(whole_in.readings[q], offset, two.readings[q]);
  }
  compute_all(one);
  two.initial_state = carried_state(one);
  ASSERT_TRUE(two.initial_state.has_value());
  compute_all(two);
  for (const char* key : {"kbdi",
                          "drought_factor",
                          "days_since_rain",
                          "hours_since_rain",
                          "litter_moisture",
                          "litter_moisture_sheltered",
                          "ffdi",
                          "rate_of_spread",
                          "ffmc",
                          "dmc",
                          "dc",
                          "isi",
                          "bui",
                          "fwi",
                          "hourly_ffmc",
                          "hourly_fwi",
                          "dead_fuel_moisture_1h",
                          "dead_fuel_moisture_10h",
                          "dead_fuel_moisture_100h",
                          "dead_fuel_moisture_100h_daily",
                          "soil_dryness_index"})
    for (std::size_t i = 0; i < two.hours; ++i) {
      ASSERT_EQ(two[key].is_missing(i), whole[key].is_missing(i + offset)) << key << " " << i;
      if (two[key].is_missing(i)) continue;
      ASSERT_EQ(two[key][i], whole[key][i + offset]) << key << " " << i;
      ASSERT_EQ(two[key].flags(i), whole[key].flags(i + offset)) << key << " " << i;
    }
}

UnitTraits tasmanian_unit() {
  UnitTraits unit = forest_unit();
  unit.site.latitude_deg = -42;
  unit.site.longitude_deg = 147;
  return unit;
}

TEST(SoilDryness, CountsAfterAYearInTasmaniaAndIsOnlyReadElsewhere) {
  const UnitTraits tasmanian = tasmanian_unit(), other = forest_unit();
  UnitHours hours = fair_hours(tasmanian, nine_on(tasmanian, kDay), 24 * 367), elsewhere = fair_hours(other, hours.first, 48);
  read(elsewhere, "soil_dryness_index", 5, 60);
  compute_all(hours);
  compute_all(elsewhere);
  EXPECT_EQ(hours["soil_dryness_index"].why(24 * 365 - 1), Reason::no_state);
  EXPECT_GT(hours["soil_dryness_index"][24 * 366], 0);
  EXPECT_EQ(elsewhere["soil_dryness_index"].why(4), Reason::no_model);
  EXPECT_EQ(elsewhere["soil_dryness_index"][23], 60);
  EXPECT_TRUE(elsewhere["soil_dryness_index"].is_missing(24));
}

TEST(SoilDryness, GoesOnFromAReadingAndIsFlaggedAfterAGap) {
  const UnitTraits unit = tasmanian_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 24 * 6);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    hours["air_temperature"].set(i, 20);
    hours["precipitation_amount"].set(i, 0);
  }
  hours["air_temperature"].set_missing(24 * 3 + 5, Reason::gap);
  read(hours, "soil_dryness_index", 30, 101.6);
  compute_all(hours);
  const Column& soil = hours["soil_dryness_index"];
  EXPECT_EQ(soil.flags(30), flag::kReading);
  EXPECT_NEAR(soil[48], 101.6 + 6 * 0.254, 1e-4);  // above 65 degF and 200 points
  EXPECT_EQ(soil.flags(48), 0);
  EXPECT_EQ(soil.flags(24 * 4), flag::kSpinUp);
  EXPECT_EQ(soil[24 * 4], soil[24 * 3]);
}

TEST(CarriedState, TwoPiecesEqualOneToTheBit) {
  const UnitTraits unit = forest_unit();
  const UtcHour start = nine_on(unit, kDay) - 20;
  UnitHours hours = with_state(unit, 24 * 30, start);
  expect_two_pieces_equal_one(unit, hours, 20 + 24 * 3 + 5, nine_on(unit, kDay + days(3)));
  expect_two_pieces_equal_one(unit, hours, 20 + 24 * 14, nine_on(unit, kDay + days(14)));
}

TEST(CarriedState, TwoPiecesEqualOneWithoutAnyStateAtTheStart) {
  const UnitTraits unit = forest_unit();
  const UnitHours hours = fair_hours(unit, nine_on(unit, kDay) - 7, 24 * 40);
  expect_two_pieces_equal_one(unit, hours, 7 + 24 * 2 + 3, nine_on(unit, kDay + days(2)));
  expect_two_pieces_equal_one(unit, hours, 7 + 24 * 25, nine_on(unit, kDay + days(25)));
}

TEST(CarriedState, TwoPiecesEqualOneAcrossTheFirstYear) {
  const UnitTraits unit = forest_unit();
  const UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 24 * 380);
  expect_two_pieces_equal_one(unit, hours, 24 * 200, nine_on(unit, kDay + days(200)));
  const UnitTraits tasmanian = tasmanian_unit();
  expect_two_pieces_equal_one(tasmanian, fair_hours(tasmanian, hours.first, 24 * 380), 24 * 200, nine_on(unit, kDay + days(200)));
}

TEST(CarriedState, TwoPiecesEqualOneWithGapsBeforeTheyMeet) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = with_state(unit, 24 * 20, nine_on(unit, kDay));
  hours["precipitation_amount"].set_missing(24 * 4 + 10, Reason::gap);
  hours["wind_speed"].set_missing(24 * 4 + 3, Reason::gap);  // noon
  hours["relative_humidity"].set_missing(24 * 5 - 2, Reason::gap);
  expect_two_pieces_equal_one(unit, hours, 24 * 5, nine_on(unit, kDay + days(5)));
}

TEST(CarriedState, TwoPiecesEqualOneAfterReadings) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = with_state(unit, 24 * 20, nine_on(unit, kDay));
  hours.initial_state->last_rain.reset();
  read(hours, "kbdi", 40, 110);
  read(hours, "drought_factor", 41, 6);
  read(hours, "litter_moisture", 50, 22);
  read(hours, "ffmc", 44, 70);
  read(hours, "dc", 24 * 5 - 2, 333);
  read(hours, "dead_fuel_moisture_100h", 45, 30);
  read(hours, "hourly_ffmc", 46, 60);
  read(hours, "dead_fuel_moisture_100h_daily", 47, 20);
  expect_two_pieces_equal_one(unit, hours, 24 * 5, nine_on(unit, kDay + days(5)));
}

}  // namespace
}  // namespace hakea::test
