// Settings of a feed and tables of weather: what is read, and what is said about mistakes.
#include <gtest/gtest.h>

#include <cmath>

#include "ingest/feed.h"
#include "ingest/station/weather_csv.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"

namespace hakea::ingest {
namespace {

std::string unit_of(std::string_view key) {
  static const std::map<std::string, std::string, std::less<>> units{{"air_temperature", "Cel"},
                                                                     {"dew_point_temperature", "Cel"},
                                                                     {"relative_humidity", "%"},
                                                                     {"wind_speed", "km/h"},
                                                                     {"wind_from_direction", "deg"},
                                                                     {"wind_gust", "km/h"},
                                                                     {"wind_shift", "deg"},
                                                                     {"precipitation_amount", "mm"},
                                                                     {"in_forest_wind_speed", "km/h"},
                                                                     {"hours_since_rain", "h"},
                                                                     {"days_since_rain", "d"},
                                                                     {"kbdi", "mm"},
                                                                     {"drought_factor", "1"},
                                                                     {"litter_moisture", "%"},
                                                                     {"litter_moisture_sheltered", "%"},
                                                                     {"litter_moisture_difference", "%"},
                                                                     {"grass_moisture", "%"},
                                                                     {"heath_moisture", "%"},
                                                                     {"ffdi", "1"},
                                                                     {"gfdi", "1"},
                                                                     {"rate_of_spread", "m/h"},
                                                                     {"fireline_intensity", "kW/m"},
                                                                     {"flame_height", "m"},
                                                                     {"mixing_height", "m"},
                                                                     {"transport_wind_speed", "km/h"},
                                                                     {"transport_wind_from_direction", "deg"},
                                                                     {"ventilation_index", "m2/s"},
                                                                     {"surface_pressure", "hPa"}};
  const auto found = units.find(key);
  return found == units.end() ? "" : found->second;
}

Result<WeatherTable> read(const std::string& text) { return read_weather_csv(text, "w.csv", unit_of); }

std::vector<std::string> mistakes(const Errors& errors) {
  std::vector<std::string> list;
  for (const Error& e : errors) list.push_back(e.where + " " + e.code);
  return list;
}

TEST(WeatherTable, ConvertsUcumUnits) {
  // NIST SP 811 factors.
  for (const auto& [header, cell, wanted] : {std::tuple("air_temperature [Cel]", "20", 20.0),
                                             {"air_temperature [K]", "293.15", 20.0},
                                             {"air_temperature [[degF]]", "68", 20.0},
                                             {"air_temperature [degF]", "68", 20.0},
                                             {"wind_speed [m/s]", "10", 36.0},
                                             {"wind_speed [[kn_i]]", "10", 18.52},
                                             {"wind_speed [[mi_i]/h]", "10", 16.09344},
                                             {"precipitation_amount [[in_i]]", "1", 25.4},
                                             {"surface_pressure [Pa]", "101325", 1013.25},
                                             {"surface_pressure [mbar]", "1013", 1013.0},
                                             {"relative_humidity [1]", "0.5", 50.0},
                                             {"mixing_height [[ft_i]]", "1000", 304.8},
                                             {"rate_of_spread [m/min]", "2", 120.0},
                                             {"days_since_rain [h]", "48", 2.0}}) {
    const auto table = read(std::string("time_utc,") + header + "\n2027-03-30T00:00:00Z," + cell + "\n");
    ASSERT_TRUE(table) << header << " " << table.error().what;
    EXPECT_NEAR(static_cast<double>(table->by_unit.at("").values[0][0]), wanted, 2e-5 * std::max(1.0, wanted)) << header;
  }
}

TEST(WeatherTable, ADifferenceOfTemperaturesHasNoZeroPoint) {
  const auto inversion = [](std::string_view) { return std::string("Cel"); };
  const auto table =
      read_weather_csv("time_utc,inversion_strength [K]\n2027-03-30T00:00:00Z,4\n", "w.csv", inversion, {"inversion_strength"});
  ASSERT_TRUE(table) << table.error().what;
  EXPECT_EQ(table->by_unit.at("").values[0][0], 4);
}

TEST(WeatherTable, HalfANumberIsNoNumber) {
  // Cut off in the last row: 45 could have been 4.
  const std::string head = "time_utc,air_temperature [Cel],relative_humidity [%]\n2027-03-30T00:00:00Z,20,50\n";
  EXPECT_TRUE(read(head + "2027-03-30T01:00:00Z,21,45"));
  EXPECT_TRUE(read(head + "2027-03-30T01:00:00Z,21\n"));
  const auto cut = read(head + "2027-03-30T01:00:00Z,2");
  ASSERT_FALSE(cut);
  EXPECT_EQ(mistakes(cut.errors()), (std::vector<std::string>{"w.csv:3:22 cut_off"}));
  const auto quoted = read(head + "2027-03-30T01:00:00Z,\"2\"1,45\n2027-03-30T02:00:00Z,\"21,45\n");
  ASSERT_FALSE(quoted);
  EXPECT_EQ(mistakes(quoted.errors()), (std::vector<std::string>{"w.csv:3:22 quotes", "w.csv:4:22 quotes"}));
}

TEST(WeatherTable, AMistypedYearIsFoundBeforeItFillsTheMemory) {
  const auto table = read("time_utc,air_temperature [Cel]\n0203-03-30T00:00:00Z,20\n2027-03-30T00:00:00Z,20\n");
  ASSERT_FALSE(table);
  EXPECT_EQ(mistakes(table.errors()), (std::vector<std::string>{"w.csv:2:1 far"}));
  EXPECT_NE(table.error().hint.find("1900 to 2100"), std::string::npos);
}

TEST(WeatherTable, KeepsGapsMissingAndUnitsApart) {
  const auto table = read(
      "unit,time_utc,air_temperature [Cel],relative_humidity "
      "[%]\r\na,2027-03-30T00:00:00Z,20,\r\na,2027-03-30T13:00:00+11:00,21,40\r\nb,2027-03-30T00:00Z,,50\r\n");
  ASSERT_TRUE(table) << table.error().what;
  const auto& a = table->by_unit.at("a");
  ASSERT_EQ(a.hours, 3u);
  EXPECT_TRUE(std::isnan(a.values[0][1]));
  EXPECT_EQ(a.values[0][2], 21.0f);
  EXPECT_TRUE(std::isnan(a.values[1][0]));
  EXPECT_EQ(table->by_unit.at("b").hours, 1u);
}

TEST(WeatherTable, ReportsAllMistakesWithLineAndColumn) {
  const auto header = read("time_utc,air_temprature [Cel],wind_speed,relative_humidity [kPa],air_temperature [furlong]\n");
  ASSERT_FALSE(header);
  EXPECT_EQ(mistakes(header.errors()), (std::vector<std::string>{"w.csv:1:10 unknown_quantity", "w.csv:1:31 no_unit",
                                                                 "w.csv:1:60 unit_mismatch", "w.csv:1:82 unknown_unit"}));
  EXPECT_NE(header.errors()[0].hint.find("air_temperature"), std::string::npos);
  const auto rows = read(
      "time_utc,air_temperature "
      "[Cel]\n2027-03-30T00:00:00,20\n2027-03-30T00:30:00Z,20\nyesterday,20\n2027-03-30T02:00:00Z,warm\n2027-03-30T02:00:00Z,"
      "20\n2027-03-30T01:00:00Z,20\n2027-03-30T03:00:00Z,200\n2027-03-30T04:00:00Z,20,5\n");
  ASSERT_FALSE(rows);
  EXPECT_EQ(mistakes(rows.errors()), (std::vector<std::string>{"w.csv:2:1 no_offset", "w.csv:3:1 not_whole", "w.csv:4:1 bad_time",
                                                               "w.csv:5:22 not_a_number", "w.csv:6:1 twice", "w.csv:7:1 unsorted",
                                                               "w.csv:9:25 too_many"}));
  EXPECT_EQ(mistakes(read("air_temperature [Cel],time_utc\n").errors()).front(), "w.csv:1:1 no_time");
  EXPECT_FALSE(read(""));
}

TEST(WeatherTable, SetsAsideWhatNoInstrumentCanHaveMeasured) {
  const auto table = read("time_utc,wind_speed [km/h]\n2027-03-30T03:00:00Z,1687\n2027-03-30T04:00:00Z,12\n");
  ASSERT_TRUE(table);
  EXPECT_EQ(mistakes(table->set_aside), std::vector<std::string>{"w.csv:2:22 implausible"});
  EXPECT_TRUE(std::isnan(table->by_unit.at("").values[0][0]));
  EXPECT_EQ(table->by_unit.at("").values[0][1], 12.0f);
}

TEST(WeatherTable, TakesSlightlyTooHumidAirAsSaturatedAndCountsIt) {
  const auto table = read("time_utc,relative_humidity [%],precipitation_amount [mm]\n2027-03-30T03:00:00Z,103,-0.04\n");
  ASSERT_TRUE(table) << table.error().what;
  EXPECT_EQ(table->humidities_cut, 1u);
  EXPECT_EQ(table->by_unit.at("").values[0][0], 100.0f);
  EXPECT_EQ(table->by_unit.at("").values[1][0], 0.0f);
}

TEST(WeatherTable, RefusesWhatCannotBe) {
  const auto table =
      read("time_utc,relative_humidity [%],wind_speed [km/h],precipitation_amount [mm]\n2027-03-30T03:00:00Z,106,-1,-0.06\n");
  ASSERT_FALSE(table);
  EXPECT_EQ(mistakes(table.errors()),
            (std::vector<std::string>{"w.csv:2:22 out_of_range", "w.csv:2:26 out_of_range", "w.csv:2:29 out_of_range"}));
}

TEST(WeatherTable, ReadsTheDemoStory) {
  if (test::shared_folder().empty()) GTEST_SKIP() << "the demo's weather story is not beside the checkout";
  const auto table = read(test::file_bytes(test::shared_folder() + "/demo/hourly.csv"));
  ASSERT_TRUE(table) << table.error().where << " " << table.error().what;
  EXPECT_TRUE(table->by_unit.contains("sawpit-ridge"));
  EXPECT_EQ(table->by_unit.at("sawpit-ridge").values[0][0], 11.7f);
}

TEST(Feed, IsReadWhole) {
  const auto feed = parse_feed(R"(id = "fine"
path = "/feeds/fine"
pattern = "*.nc"
hours = "0/90/1"
quantities = ["air_temperature", "level_temperature"]
members = 3
late_after = "7h"
wind = "grid"
orography = "orog.nc"
settle_s = 30
use_incomplete = true
time_unit = "hours since 2026-04-01"
grid = { projection = "+proj=longlat", first = [-35, 140], step = [0.25, -0.25] }
[aliases]
T2 = "air_temperature [K]"
"x-wind" = "x_wind"
)",
                               "feed.toml");
  ASSERT_TRUE(feed) << feed.error().what;
  EXPECT_EQ(feed->hours->last, 90);
  EXPECT_EQ(feed->wind, Feed::Wind::grid);
  EXPECT_EQ(feed->aliases.at("T2"), "air_temperature [K]");
  EXPECT_EQ(feed->quantities.size(), 2u);
  EXPECT_TRUE(feed->use_incomplete);
  EXPECT_EQ(feed->settle_s, 30);
  EXPECT_EQ(feed->time_unit, "hours since 2026-04-01");
  ASSERT_TRUE(feed->grid);
  EXPECT_EQ(feed->grid->first_longitude_deg, 140);
  EXPECT_EQ(feed->grid->y_step, -0.25);
}

TEST(Feed, ReportsAllMistakesTogetherWithTheNearestName) {
  const auto feed = parse_feed(
      "patern = \"*.nc\"\nhours = \"0/90\"\nmembers = \"three\"\nwind = \"true\"\nquantities = [\"air_temprature\"]\nsettle_s = "
      "-1\n[aliases]\nt = \"temperature\"\n",
      "f.toml");
  ASSERT_FALSE(feed);
  EXPECT_EQ(mistakes(feed.errors()),
            (std::vector<std::string>{"f.toml:1:1 unknown_key", "f.toml:2:9 bad_hours", "f.toml:3:11 wrong_type",
                                      "f.toml:4:8 unknown_word", "f.toml:5:15 unknown_quantity", "f.toml:6:12 out_of_range",
                                      "f.toml:8:5 unknown_quantity"}));
  EXPECT_NE(feed.errors()[0].hint.find("pattern"), std::string::npos);
  EXPECT_NE(feed.errors()[4].hint.find("air_temperature"), std::string::npos);
  EXPECT_EQ(parse_feed("a = [", "f.toml").error().code, "syntax");

  const auto laid = [](const std::string& text) {
    const auto read = parse_feed(text, "f.toml");
    return read ? std::vector<std::string>() : mistakes(read.errors());
  };
  EXPECT_EQ(laid("time_unit = \"hours\"\ngrid = { projection = \"+proj=lcc\", first = [1], steps = [1, 1] }"),
            (std::vector<std::string>{"f.toml:1:13 bad_time_unit", "f.toml:2:8 wrong_type", "f.toml:2:44 wrong_type",
                                      "f.toml:2:49 unknown_key"}));
  EXPECT_EQ(laid("[grid]\nprojection = \"+proj=moll\"\nfirst = [1, 1]\nstep = [1, 1]"),
            std::vector<std::string>{"f.toml:1:1 bad_grid"});
  EXPECT_EQ(laid("grid = { projection = \"+proj=longlat\", first = [91, 0], step = [1, 1] }"),
            std::vector<std::string>{"f.toml:1:8 bad_grid"});
  EXPECT_EQ(laid("grid = { projection = \"+proj=longlat\", first = [1, 0], step = [1, 0] }"),
            std::vector<std::string>{"f.toml:1:8 bad_grid"});
}

}  // namespace
}  // namespace hakea::ingest
