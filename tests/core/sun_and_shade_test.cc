// Sun and shade on slopes against the field tables of one-hour fuel moisture.
//
// Rothermel (1983), INT-143, after Fosberg & Deeming (1971): a reference moisture by temperature and humidity (A), and what
// month, aspect, slope, hour and shade add to it (B May to July, C February to April and August to October, D November to
// January), for temperate latitudes of the north. Made of other models than ours and rounded to whole points, they say how
// large the effects are and which way they go, not more. The row of table D for steep western slopes is empty in the copy
// at hand and is left out.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>

#include "core/moisture/equilibrium.h"
#include "core/moisture/exposure.h"
#include "core/weather/sun.h"
#include "tests/core/unit_hours_builder.h"
#include "tests/support/case_file.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

struct Place {
  bool is_shaded;
  double aspect_deg, slope_deg;
};

struct FieldTables {
  double reference = 0;  // 70-89 degF, 30-34 %
  // what is added at the level of the fire, by table, place and two-hour block from 08:00
  std::map<char, std::vector<std::pair<Place, std::array<double, 6>>>> added;
};

FieldTables read_tables() {
  const std::map<std::string, double> aspects{{"N", 0}, {"E", 90}, {"S", 180}, {"W", 270}};
  FieldTables tables;
  std::ifstream in(tests_folder() + "/data/fosberg_tables.txt");
  char table = 0;
  for (std::string line; std::getline(in, line);) {
    if (line.starts_with("# table")) {
      table = line.back();
      continue;
    }
    std::vector<std::string> cells;
    std::istringstream row(line);
    for (std::string cell; std::getline(row, cell, '\t');) cells.push_back(cell);
    if (table == 'A' && cells.at(0) == "70") tables.reference = std::stod(cells.at(1 + 6));
    if (table == 'A' || cells.size() < 21 || !aspects.contains(cells[1])) continue;
    const Place place{cells[0] == "Shaded", aspects.at(cells[1]), cells[2] == ">30%" ? 24.0 : 0.0};
    if (table == 'D' && cells[0] == "Unshaded" && cells[1] == "W" && cells[2] == ">30%") continue;
    std::array<double, 6> level{};
    for (std::size_t block = 0; block < 6; ++block) level[block] = std::stod(cells[3 + 3 * block + 1]);
    tables.added[table].emplace_back(place, level);
  }
  return tables;
}

// Our one-hour fuel at 26.7 degC and 32 %, at the middle of a two-hour block, 40 N, in light wind under a clear sky; a tenth
// of the light gets into the shade.
double ours(const Place& place, int month, std::size_t block) {
  const UtcTime t =
      std::chrono::sys_days(std::chrono::year(2026) / month / 15) + std::chrono::hours(9 + 2 * static_cast<int>(block));
  const SunPosition sun = sun_position(t, 40, 0);
  const WattsPerSquareMetre global = clear_sky_irradiance(sun.elevation);
  WattsPerSquareMetre light(0);
  if (sun.elevation.value() > 0)
    light = place.is_shaded ? global * 0.1 : slope_irradiance(global, sun, {Degrees(place.slope_deg), Degrees(place.aspect_deg)});
  const auto e = equilibrium_moisture(air_at_litter({Celsius(26.7), Percent(32)}, light, MetresPerSecond(1)));
  return (e.drying.value() + e.wetting.value()) / 2;
}

constexpr std::array<std::pair<char, int>, 3> kMonths{{{'B', 6}, {'C', 3}, {'D', 12}}};

TEST(SunAndShade, AreAsLargeAsInTheFieldTables) {
  const FieldTables tables = read_tables();
  ASSERT_EQ(tables.reference, 5);
  double sum = 0;
  int count = 0;
  for (const auto& [table, month] : kMonths)
    for (const auto& [place, added] : tables.added.at(table))
      for (std::size_t block = 1; block < 5; ++block) {  // 10:00 to 18:00
        const double difference = ours(place, month, block) - (tables.reference + added[block]);
        EXPECT_LT(difference, 1) << "wetter than the table " << table << " " << place.aspect_deg << " " << block;
        EXPECT_GT(difference, -5) << "drier than the table " << table << " " << place.aspect_deg << " " << block;
        sum += std::abs(difference);
        ++count;
      }
  EXPECT_EQ(count, 140);
  EXPECT_LT(sum / count, 2.0);
}

TEST(SunAndShade, OrderSlopesAsTheFieldTablesDo) {
  const FieldTables tables = read_tables();
  int count = 0;
  for (const auto& [table, month] : kMonths)
    for (const auto& [place, added] : tables.added.at(table))
      for (const auto& [other, added_there] : tables.added.at(table))
        for (std::size_t block = 1; block < (month == 12 ? 4u : 5u); ++block) {  // the sun is down at 17:00 in December
          if (added[block] < added_there[block] + 2) continue;
          EXPECT_GT(ours(place, month, block), ours(other, month, block))
              << table << " " << place.aspect_deg << " over " << other.aspect_deg << " " << block;
          ++count;
        }
  EXPECT_GT(count, 300);
}

}  // namespace
}  // namespace hakea::test
