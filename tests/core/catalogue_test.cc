// The catalogue is an interface: its keys and units are those that others write into prescriptions, tables and requests.
#include "core/catalogue/catalogue.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <regex>
#include <set>
#include <string_view>
#include <vector>

#include "core/base/words.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"

namespace hakea::core {
namespace {

const std::map<std::string_view, std::string_view> kKeys = {
    // weather
    {"air_temperature", "Cel"},
    {"dew_point_temperature", "Cel"},
    {"relative_humidity", "%"},
    {"vapour_pressure_deficit", "hPa"},
    {"wind_speed", "km/h"},
    {"wind_from_direction", "deg"},
    {"wind_gust", "km/h"},
    {"wind_shift", "deg"},
    {"precipitation_amount", "mm"},
    {"shortwave_radiation", "W/m2"},
    {"cloud_area_fraction", "%"},
    {"surface_pressure", "hPa"},
    {"in_forest_wind_speed", "km/h"},
    {"solar_elevation", "deg"},
    // wetness
    {"hours_since_rain", "h"},
    {"days_since_rain", "d"},
    {"kbdi", "mm"},
    {"drought_factor", "1"},
    {"ffmc", "1"},
    {"dmc", "1"},
    {"dc", "1"},
    {"isi", "1"},
    {"bui", "1"},
    {"fwi", "1"},
    {"hourly_ffmc", "1"},
    // moisture
    {"litter_moisture", "%"},
    {"litter_moisture_sheltered", "%"},
    {"litter_moisture_difference", "%"},
    {"grass_moisture", "%"},
    {"heath_moisture", "%"},
    {"dead_fuel_moisture_10h", "%"},
    {"dead_fuel_moisture_100h", "%"},
    // fire
    {"ffdi", "1"},
    {"gfdi", "1"},
    {"rate_of_spread", "m/h"},
    {"fireline_intensity", "kW/m"},
    {"flame_length", "m"},
    {"flame_height", "m"},
    {"scorch_height", "m"},
    // air
    {"mixing_height", "m"},
    {"transport_wind_speed", "km/h"},
    {"transport_wind_from_direction", "deg"},
    {"ventilation_index", "m2/s"},
    {"stability_class", "1"},
    {"inversion_strength", "Cel"},
    {"inversion_top", "m"},
    {"c_haines", "1"},
    {"hot_dry_windy", "1"},
    {"smoke_bearing", "deg"},
    {"receptors_under_smoke", "1"},
    {"smoke_concentration", "ug/m3"},
};

bool needs(std::string_view key, std::string_view input) {
  const auto row = find_quantity(key);
  if (!row) return false;
  const auto inputs = words(catalogue()[*row].inputs);
  return std::find(inputs.begin(), inputs.end(), input) != inputs.end();
}

TEST(Catalogue, HoldsTheKeysOfTheInterfaceWithTheirUnits) {
  for (const auto& [key, unit] : kKeys) {
    const auto row = find_quantity(key);
    if (!row)
      ADD_FAILURE() << key << " is missing";
    else
      EXPECT_EQ(catalogue()[*row].unit, unit) << key;
  }
}

// The list above against the page it was taken from, where that page is at hand.
TEST(Catalogue, HasTheKeysThatTheInterfaceLists) {
  if (test::shared_folder().empty()) GTEST_SKIP() << "the interface's page is not beside this checkout";
  const std::string page = test::file_bytes(test::shared_folder() + "/INTERFACE.md");
  const std::size_t begin = page.find("\nWeather: `"), end = page.find("\n\n", begin);
  ASSERT_NE(end, std::string::npos);
  const std::string lists = page.substr(begin, end - begin);
  const std::regex key("`([a-z0-9_]+)`");
  std::set<std::string, std::less<>> listed;
  for (std::sregex_iterator it(lists.begin(), lists.end(), key), none; it != none; ++it) listed.insert((*it)[1]);
  EXPECT_GT(listed.size(), 40u);
  for (const std::string& one : listed) EXPECT_TRUE(kKeys.contains(one)) << one;
}

TEST(Catalogue, HoldsEachKeyOnceInSmallLetters) {
  std::set<std::string_view> seen;
  for (const QuantityRow& row : catalogue()) {
    EXPECT_TRUE(seen.insert(row.key).second) << row.key << " stands twice";
    EXPECT_EQ(row.key.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_"), std::string_view::npos) << row.key;
  }
}

TEST(Catalogue, NamesThePublicationOfEveryEquation) {
  for (const QuantityRow& row : catalogue()) {
    EXPECT_FALSE(row.title.empty()) << row.key;
    EXPECT_LT(row.lowest, row.highest) << row.key;
    EXPECT_FALSE(row.source.empty()) << row.key;
    EXPECT_FALSE(row.model.empty()) << row.key;
    if (row.origin == Origin::derived) {
      EXPECT_EQ(row.model.find("no model yet"), std::string_view::npos) << row.key << " can only be read";
    }
  }
}

TEST(Catalogue, ComputesRowsAfterTheirInputs) {
  std::set<std::string_view> before;
  for (const QuantityRow& row : catalogue()) {
    for (const std::string_view input : words(row.inputs)) {
      const bool each_from_the_other = needs(input, row.key);  // humidity and dew point, whichever is given
      EXPECT_TRUE(before.contains(input) || !find_quantity(input) || each_from_the_other) << row.key << " needs " << input;
    }
    before.insert(row.key);
  }
}

}  // namespace
}  // namespace hakea::core
