// Unit strings and time strings of weather files.
#include <gtest/gtest.h>

#include <cmath>

#include "ingest/cf/time_axis.h"
#include "ingest/cf/units.h"

namespace hakea::ingest {
namespace {

using core::Fed;

struct UnitCase {
  Fed fed;
  const char* unit;
  double stated, wanted;
};
class UnitConverts : public ::testing::TestWithParam<UnitCase> {};

TEST_P(UnitConverts, ToTheFedUnit) {
  const auto& c = GetParam();
  const auto conversion = conversion_to(c.fed, c.unit);
  ASSERT_TRUE(conversion) << conversion.error().what;
  EXPECT_NEAR(c.stated * conversion->factor + conversion->offset, c.wanted, 1e-9 * std::max(1.0, std::abs(c.wanted)));
}

// H17. Factors: BIPM SI Brochure (2019), and NIST SP 811 for knot, mile, foot and inch.
INSTANTIATE_TEST_SUITE_P(
    H17, UnitConverts,
    ::testing::Values(
        UnitCase{Fed::air_temperature, "K", 300, 26.85}, UnitCase{Fed::air_temperature, "kelvin", 300, 26.85},
        UnitCase{Fed::air_temperature, "C", 20, 20}, UnitCase{Fed::air_temperature, "deg_C", 20, 20},
        UnitCase{Fed::air_temperature, "Celsius", 20, 20}, UnitCase{Fed::air_temperature, "degF", 68, 20},
        UnitCase{Fed::wind_speed, "m s-1", 10, 36}, UnitCase{Fed::wind_speed, "m s**-1", 10, 36},
        UnitCase{Fed::wind_speed, "m/s", 10, 36}, UnitCase{Fed::wind_speed, "kts", 10, 18.52},
        UnitCase{Fed::wind_speed, "kt", 10, 18.52}, UnitCase{Fed::wind_speed, "knots", 10, 18.52},
        UnitCase{Fed::wind_speed, "mph", 10, 16.09344}, UnitCase{Fed::wind_speed, "km h-1", 10, 10},
        UnitCase{Fed::surface_pressure, "Pa", 101325, 1013.25}, UnitCase{Fed::surface_pressure, "millibars", 1013, 1013},
        UnitCase{Fed::surface_pressure, "mb", 1013, 1013}, UnitCase{Fed::surface_pressure, "kPa", 101.3, 1013},
        UnitCase{Fed::precipitation_amount, "kg m-2", 3, 3}, UnitCase{Fed::precipitation_amount, "kg m**-2", 3, 3},
        UnitCase{Fed::precipitation_amount, "m", 0.003, 3}, UnitCase{Fed::precipitation_amount, "in", 1, 25.4},
        UnitCase{Fed::precipitation_amount, "kg m-2 s-1", 0.001, 3.6}, UnitCase{Fed::precipitation_amount, "mm s-1", 0.001, 3.6},
        UnitCase{Fed::precipitation_amount, "mm/d", 24, 1}, UnitCase{Fed::mixing_height, "ft", 1000, 304.8},
        UnitCase{Fed::level_height, "m2 s-2", 9806.65, 1000}, UnitCase{Fed::level_height, "gpm", 1500, 1500},
        UnitCase{Fed::specific_humidity, "g kg-1", 5, 0.005}, UnitCase{Fed::specific_humidity, "kg kg**-1", 0.005, 0.005},
        UnitCase{Fed::specific_humidity, "1", 0.005, 0.005}, UnitCase{Fed::cloud_area_fraction, "okta", 4, 50},
        UnitCase{Fed::shortwave_radiation, "W m**-2", 500, 500}, UnitCase{Fed::shortwave_radiation, "kJ m-2", 1, 1000}));

TEST(Units, ThatDoNotFitAreRefusedNamingBoth) {
  for (const auto& [fed, unit] : {std::pair(Fed::air_temperature, "degree"),
                                  {Fed::air_temperature, "kevin"},
                                  {Fed::air_temperature, "wibble"},
                                  {Fed::air_temperature, ""},
                                  {Fed::wind_speed, "K"},
                                  {Fed::mixing_height, ""},
                                  {Fed::precipitation_amount, "K"},
                                  {Fed::surface_pressure, "m"},
                                  {Fed::air_temperature, "days since 1970-01-01"}}) {
    const auto c = conversion_to(fed, unit);
    ASSERT_FALSE(c) << unit;
    EXPECT_NE(c.error().what.find(unit), std::string::npos) << c.error().what;
    EXPECT_FALSE(c.error().hint.empty());
  }
  EXPECT_NE(conversion_to(Fed::air_temperature, "kevin").error().hint.find("kelvin"), std::string::npos);
}

TEST(Units, TooSmallToStandBesideTheirOffsetAreNone) {
  EXPECT_FALSE(convert_units("yCelsius", "K"));
  EXPECT_NEAR(convert_units("nCelsius", "K")->factor, 1e-9, 1e-13);
}

TEST(Units, AreNotPrintedWhenTheyHoldALinesEnd) {
  ::testing::internal::CaptureStdout();
  EXPECT_FALSE(conversion_to(core::Fed::shortwave_radiation, "W\nm-2"));
  EXPECT_FALSE(convert_units("W\nm-2", "W m-2"));
  EXPECT_EQ(::testing::internal::GetCapturedStdout(), "") << "an answer may be under way there";
}

TEST(Units, AFractionIsToldFromPercentByItsValues) {
  for (const char* unit : {"", "1", "0-1", "(0 - 1)"}) {
    const auto c = conversion_to(Fed::relative_humidity, unit);
    ASSERT_TRUE(c);
    EXPECT_EQ(c->form, UnitForm::fraction) << unit;
  }
  EXPECT_EQ(settle_fraction(Fed::relative_humidity, 0.99).factor, 100);
  EXPECT_EQ(settle_fraction(Fed::relative_humidity, 98).factor, 1);
  EXPECT_EQ(settle_fraction(Fed::land_area_fraction, 100).factor, 0.01);
  EXPECT_EQ(conversion_to(Fed::relative_humidity, "%")->form, UnitForm::plain);
}

TEST(Units, SayWhatTheyCount) {
  EXPECT_EQ(conversion_to(Fed::precipitation_amount, "kg m-2 s-1")->form, UnitForm::rate);
  EXPECT_EQ(conversion_to(Fed::precipitation_amount, "mm")->form, UnitForm::plain);
  EXPECT_EQ(conversion_to(Fed::shortwave_radiation, "J m-2")->form, UnitForm::energy);
}

struct TimeCase {
  const char *units, *calendar;
  double number;
  const char* instant;
};
class TimeString : public ::testing::TestWithParam<TimeCase> {};

TEST_P(TimeString, IsTheInstant) {
  const auto& c = GetParam();
  const auto unit = parse_time_unit(c.units, c.calendar);
  ASSERT_TRUE(unit) << unit.error().what;
  EXPECT_EQ(utc_text(*decode_times({c.number}, *unit, false).front()), c.instant);
}

INSTANTIATE_TEST_SUITE_P(Cases, TimeString,
                         ::testing::Values(
                             // CF conventions 4.4
                             TimeCase{"seconds since 1992-10-08 15:15:42.5 -6:00", "", 0, "1992-10-08T21:15:43Z"},
                             TimeCase{"seconds since 1992-10-08 09:15:42 -06", "", 0, "1992-10-08T15:15:42Z"},
                             TimeCase{"hours since 2026-06-10 00:00:00 +03:00", "", 0, "2026-06-09T21:00:00Z"},
                             TimeCase{"hours since 2026-6-10 0:0:0 +3", "", 0, "2026-06-09T21:00:00Z"},
                             TimeCase{"days since 2020-02-28 23:10", "standard", 1, "2020-02-29T23:10:00Z"},
                             // computed with cftime 1.6.2
                             TimeCase{"hours since 1900-01-01 00:00:00.0", "gregorian", 1104537, "2026-01-02T09:00:00Z"},
                             TimeCase{"seconds since 1970-01-01", "proleptic_gregorian", 1760000400, "2025-10-09T09:00:00Z"},
                             TimeCase{"days since 1582-10-04", "standard", 1, "1582-10-15T00:00:00Z"},
                             TimeCase{"hours since 1-1-1 00:00:0.0", "", 17628312, "2012-01-10T00:00:00Z"},
                             // spellings of real files, with the instants that netCDF4 and ncdump give
                             TimeCase{"Hour since 2012-05-15T12:00:00Z", "", 0, "2012-05-15T12:00:00Z"},
                             TimeCase{"hours since 1992-1-1", "", 102768, "2003-09-22T00:00:00Z"},
                             TimeCase{"seconds since 1970-1-1 0:00:00 0:00", "", 86400, "1970-01-02T00:00:00Z"},
                             TimeCase{"seconds since 1970-01-01 00:00:00 +00:00", "", 1513328400, "2017-12-15T09:00:00Z"},
                             TimeCase{"seconds since 1970-01-01T00:00:00+00:00", "", 3600, "1970-01-01T01:00:00Z"},
                             TimeCase{"days since 1970-01-01T00:00:00 UTC", "", 1, "1970-01-02T00:00:00Z"},
                             TimeCase{"minutes since 2005-08-28 00:00:00", "", 720, "2005-08-28T12:00:00Z"},
                             TimeCase{"days since 1949-12-01 00:00:00", "proleptic_gregorian", 20500.5, "2006-01-16T12:00:00Z"},
                             TimeCase{"h since 20260131T0600", "", 1, "2026-01-31T07:00:00Z"}));

TEST(TimeStrings, ThatAreNoneAreRefused) {
  for (const auto& [units, calendar, code] : {std::tuple("K", "", "not_a_time_unit"),
                                              {"hours", "", "not_a_time_unit"},
                                              {"months since 2020-01-01", "", "unknown_unit"},
                                              {"years since 2020-01-01", "", "unknown_unit"},
                                              {"days since 2026-02-30", "", "bad_date"},
                                              {"days since 2026-13-01", "", "bad_date"},
                                              {"hours since yesterday", "", "bad_date"},
                                              {"days since 1582-10-10", "standard", "bad_date"},
                                              {"hours since 2020-01-01 25:00", "", "bad_date"}}) {
    const auto unit = parse_time_unit(units, calendar);
    ASSERT_FALSE(unit) << units;
    EXPECT_EQ(unit.error().code, code) << units;
  }
  for (const char* calendar : {"360_day", "noleap", "365_day", "all_leap", "366_day", "julian", "none", "tai"}) {
    const auto unit = parse_time_unit("days since 2020-01-01", calendar);
    ASSERT_FALSE(unit) << calendar;
    EXPECT_NE(unit.error().what.find(calendar), std::string::npos);
  }
}

TEST(TimeStrings, SinglePrecisionNoiseIsRoundedAway) {
  // Hours since 1900 stand 0.125 h apart in float32, days since 1900 0.0039 d.
  const auto hours = *parse_time_unit("hours since 1900-01-01", "");
  const auto days = *parse_time_unit("days since 1900-01-01", "");
  for (int h = 0; h < 48; ++h) {
    const UtcTime t = std::chrono::sys_days(std::chrono::year(2026) / 1 / 2) + std::chrono::hours(h);
    const double exact = static_cast<double>((t - hours.epoch).count()) / 3600;
    EXPECT_EQ(decode_times({static_cast<double>(static_cast<float>(exact))}, hours, true).front(), t);
    EXPECT_EQ(decode_times({static_cast<double>(static_cast<float>(exact / 24))}, days, true).front(), t);
    EXPECT_EQ(decode_times({exact / 24}, days, false).front(), t);
  }
}

TEST(TimeStrings, AMissingTimeIsNoTime) {
  EXPECT_EQ(decode_times({std::nan("")}, *parse_time_unit("hours since 2026-01-01", ""), false).front(), std::nullopt);
}

TEST(H5, TimesWithALocalOffsetAreTheSameInstantOnBothSidesOfTheClockChange) {
  // 4 April 2027, 02:30 comes twice in south-east Australia: once at +11, an hour later at +10.
  EXPECT_EQ(*parse_instant("2027-04-04 02:30 +10:00") - *parse_instant("2027-04-04 02:30 +11:00"), std::chrono::hours(1));
}

}  // namespace
}  // namespace hakea::ingest
