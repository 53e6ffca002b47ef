// Ten days of fire in every kind of fuel: the hours of the demo's story, computed through `assess` as for a weather table, lie
// in the ranges that were written down before (tests/cases/demo_ranges.csv), and are the values that stand beside them.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "core/catalogue/catalogue.h"
#include "service/demo/weather_story.h"
#include "service/engine/assessment.h"
#include "service/input/built_in_tables.h"
#include "service/output/time_text.h"
#include "tests/support/case_file.h"
#include "tests/support/must.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

constexpr UtcTime kFirstMidnight = std::chrono::sys_days(std::chrono::year(2027) / 3 / 29) + std::chrono::hours(13);
constexpr int kHours = 241;
// Friday 2 April, 10 to 17 local, eleven hours ahead of UTC.
constexpr std::size_t kWindowBegin = 3 * 24 + 10, kWindowEnd = 3 * 24 + 17;

struct Row {
  int line = 0;
  std::string unit, fuel, quantity, hours, note;
  double low = 0, high = 0, seen_low = 0, seen_high = 0;
};
void PrintTo(const Row& row, std::ostream* out) { *out << row.fuel << " " << row.quantity << " " << row.hours; }

std::vector<Row> rows() {
  std::ifstream file(tests_folder() + "/cases/demo_ranges.csv");
  std::vector<Row> all;
  std::string line;
  for (int number = 1; std::getline(file, line); ++number) {
    if (line.empty() || line[0] == '#' || line.starts_with("unit,")) continue;
    const auto f = split_csv(line);
    if (f.size() != 10 || f[6].empty())
      throw std::runtime_error(fmt::format("demo_ranges.csv:{}: not ten columns with a source", number));
    all.push_back({number, f[0], f[1], f[2], f[3], f[9], std::stod(f[4]), std::stod(f[5]), std::stod(f[7]), std::stod(f[8])});
  }
  return all;
}

// The demo's unit with another fuel: "heath height_m=1.2".
Unit unit_with(const std::string& id, const std::string& fuel) {
  json::value document = json::parse(std::string(built_in_table("demo/units.geojson")));
  for (json::value& feature : document.as_object()["features"].as_array()) {
    if (feature.as_object()["id"].as_string() != id) continue;
    json::object& of_unit = feature.as_object()["properties"].as_object()["fuel"].as_object();
    std::istringstream words(fuel);
    std::string word;
    words >> word;
    const bool is_own = std::string_view(of_unit["type"].as_string()) == word;
    if (!is_own) {  // what the demo's fuel says of its own kind does not hold for another
      of_unit.erase("wind_reduction");
      of_unit.erase("height_m");
    }
    of_unit["type"] = word;
    while (words >> word) of_unit[word.substr(0, word.find('='))] = std::stod(word.substr(word.find('=') + 1));
    return must(parse_units(json::serialize(feature), built_in_fuels()))[0];
  }
  throw std::runtime_error("the demo has no unit " + id);
}

ingest::WeatherTable story_at(const Unit& unit) {
  const WeatherStory story;
  const DemoCountry country;
  const core::Site& site = unit.points.front().site;
  const Place place{site.latitude_deg, site.longitude_deg};
  std::string text =
      "time_utc,air_temperature [Cel],dew_point_temperature [Cel],wind_speed [km/h],wind_from_direction [deg],wind_gust [km/h],"
      "precipitation_amount [mm],shortwave_radiation [W/m2],cloud_area_fraction [%],surface_pressure [hPa]\n";
  for (int h = 0; h < kHours; ++h) {
    const UtcTime time = kFirstMidnight + std::chrono::hours(h);
    const StoryAir air = story.at(country.zones(place), site.elevation, time);
    text += fmt::format(
        "{},{},{},{},{},{},{},{},{},{}\n", utc_text(time), air.temperature.value(), air.dew_point.value(), air.wind.speed.value(),
        air.wind.from.value(), air.gust.value(), story.rain_mm(UtcHour::of(time), Telling::fine),
        story.shortwave(place, time, time + std::chrono::hours(1)).value(), 100 * air.cloud, air.pressure.value());
  }
  const auto unit_of = [](std::string_view key) {
    const auto q = core::find_quantity(key);
    return q ? std::string(core::catalogue()[*q].unit) : std::string();
  };
  return must(ingest::read_weather_csv(text, "story", unit_of));
}

const core::UnitHours& hours_of(const Row& row) {
  static std::map<std::string, std::pair<std::unique_ptr<Unit>, std::optional<core::UnitHours>>> known;
  auto& [unit, hours] = known[row.unit + " " + row.fuel];
  if (!hours) {
    unit = std::make_unique<Unit>(unit_with(row.unit, row.fuel));
    const std::vector<ingest::WeatherTable> tables{story_at(*unit)};
    AssessmentCall call;
    call.now = call.reference_time = kFirstMidnight;
    call.keep_hours = true;
    call.zone_of = [](const std::string&) { return nullptr; };
    hours = assess(std::span(unit.get(), 1), District{}, weather_of_tables(tables), call).front().hours;
  }
  return *hours;
}

class DemoRange : public ::testing::TestWithParam<Row> {};

TEST_P(DemoRange, HoldsAndIsAsSeen) {
  const Row& row = GetParam();
  const core::Column& values = hours_of(row)[row.quantity];
  double low = std::numeric_limits<double>::infinity(), high = -low;
  int outside = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (row.hours == "window" && (i < kWindowBegin || i >= kWindowEnd)) continue;
    if (values.is_missing(i) || (values.flags(i) & core::flag::kOutOfDomain)) continue;
    const double v = static_cast<double>(values[i]);
    low = std::min(low, v);
    high = std::max(high, v);
    outside += v < row.low || v > row.high;
  }
  ASSERT_LE(low, high) << "no hour has a value in its domain";
  const std::string found = fmt::format("line {}: {:.5g} to {:.5g}, {} hours outside", row.line, low, high, outside);
  EXPECT_EQ(outside > 0, !row.note.empty()) << found << "; a range that is left says why in its row";
  const auto as_seen = [](double value, double seen) { return std::abs(value - seen) <= 0.005 * std::abs(seen) + 0.0005; };
  EXPECT_TRUE(as_seen(low, row.seen_low) && as_seen(high, row.seen_high)) << found;
}

INSTANTIATE_TEST_SUITE_P(Story, DemoRange, ::testing::ValuesIn(rows()),
                         [](const auto& row) { return fmt::format("line_{}", row.param.line); });

}  // namespace
}  // namespace hakea::test
