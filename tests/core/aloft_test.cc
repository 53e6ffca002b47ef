// The indices of the air aloft on columns as they come: between levels, below the ground, without humidity.
#include "core/air/aloft.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/air/air_hour.h"
#include "core/base/numbers.h"
#include "core/weather/humidity.h"

namespace hakea::core {
namespace {

struct At {
  double hpa, celsius, dew_point, wind_ms;
};

AirColumn column_of(const std::vector<At>& points) {
  std::vector<Level> levels;
  const At& ground = points.front();
  for (std::size_t i = 1; i < points.size(); ++i)
    levels.push_back({points[i].hpa, kNaN, points[i].celsius, saturation_vapour_pressure(Celsius(points[i].dew_point)).value(),
                      points[i].wind_ms, 0});
  SurfaceAir surface;
  surface.temperature = Celsius(ground.celsius);
  surface.dew_point = Celsius(ground.dew_point);
  surface.pressure = Hectopascals(ground.hpa);
  surface.wind_speed = to<KilometresPerHour>(MetresPerSecond(ground.wind_ms));
  surface.wind_from_direction = Degrees(270);
  AirColumn column;
  EXPECT_EQ(prepare(levels, surface, column), ColumnFault::none);
  return column;
}

const std::vector<At> kHotDay{{990, 35, 8, 8},   {975, 33, 7, 11},   {950, 31, 6, 12},  {925, 29, 5, 13},  {900, 27, 4, 14},
                              {850, 23, -1, 14}, {700, 10, -12, 15}, {600, 2, -20, 18}, {500, -9, -30, 20}};

TEST(Aloft, TakesLevelsAsTheyAreAndInterpolatesBetween) {
  const AirColumn column = column_of(kHotDay);
  const IsobaricAir at850 = at_pressure(column, Hectopascals(850));
  EXPECT_NEAR(at850.temperature.value(), 23, 1e-9);
  EXPECT_NEAR(at850.dew_point.value(), -1, 1e-6);
  const double share = std::log(900.0 / 875) / std::log(900.0 / 850);
  EXPECT_NEAR(at_pressure(column, Hectopascals(875)).temperature.value(), 27 - 4 * share, 1e-9);
  EXPECT_TRUE(at_pressure(column, Hectopascals(1000)).temperature.is_missing());  // below the ground
  EXPECT_TRUE(at_pressure(column, Hectopascals(400)).temperature.is_missing());   // above the top
}

TEST(Aloft, GivesTheIndicesOfAColumn) {
  const AirColumn column = column_of(kHotDay);
  EXPECT_NEAR(c_haines(column), 0.5 * 13 - 2 + 5 + (24.0 / 3 - 1 - 5) / 2, 1e-6);
  EXPECT_EQ(haines_index(column, Metres(100)), 3 + 3);   // 31 - 23, 23 + 1
  EXPECT_EQ(haines_index(column, Metres(500)), 3 + 3);   // 23 - 10, 24
  EXPECT_EQ(haines_index(column, Metres(1200)), 2 + 3);  // 10 + 9, 22
  EXPECT_TRUE(std::isnan(haines_index(column, Metres::missing())));
}

TEST(Aloft, AboveHighGroundHasNoCHaines) {
  const AirColumn column = column_of({{840, 20, 2, 5}, {825, 18, 1, 8}, {800, 16, 0, 9}, {700, 8, -8, 10}, {600, 0, -15, 12}});
  EXPECT_TRUE(std::isnan(c_haines(column)));
}

TEST(Aloft, WithoutHumidityHasNone) {
  auto day = kHotDay;
  day[5].dew_point = kNaN;
  const AirColumn column = column_of(day);
  EXPECT_TRUE(std::isnan(c_haines(column)));
  EXPECT_FALSE(at_pressure(column, Hectopascals(850)).temperature.is_missing());
  EXPECT_FALSE(std::isnan(hot_dry_windy(column).value));  // not in the lowest 50 hPa
  day[1].dew_point = kNaN;
  EXPECT_TRUE(std::isnan(hot_dry_windy(column_of(day)).value));
}

// Both extremes at the ground: 35 degC, 20 %, 12 m/s give 44.981 hPa and 539.78 by the vapour pressure formula of Tetens
// (independent script); Bolton's is 0.15 % higher there.
TEST(HotDryWindy, IsTheProductOfTheTwoExtremes) {
  const auto dew = [](double celsius, double humidity) {
    return dew_point(AirAndHumidity{Celsius(celsius), Percent(humidity)}).value();
  };
  const AirColumn hot = column_of({{1000, 35, dew(35, 20), 12}, {975, 30, 9, 9}, {950, 28, 8, 9}, {925, 26, 7, 9}});
  EXPECT_NEAR(hot_dry_windy(hot).value, 539.78, 539.78 * 0.002);
  EXPECT_FALSE(hot_dry_windy(hot).is_coarse);
  const AirColumn mild = column_of({{1000, 25, dew(25, 30), 8}, {975, 20, 9, 7}, {950, 18, 8, 7}, {925, 16, 7, 7}});
  EXPECT_NEAR(hot_dry_windy(mild).value, 177.40, 177.40 * 0.002);
}

TEST(HotDryWindy, LooksFiftyHectopascalsUpAndSaysWhereThatIsCoarse) {
  // Wind grows upwards: the strongest is that at 950 hPa, half way in ln p between the levels.
  const double share = std::log(1000.0 / 950) / std::log(1000.0 / 900);
  const AirColumn coarse = column_of({{1000, 30, 10, 4}, {900, 22, 6, 24}, {850, 18, 4, 30}});
  const double deficit = saturation_vapour_pressure(Celsius(30)).value() - saturation_vapour_pressure(Celsius(10)).value();
  EXPECT_NEAR(hot_dry_windy(coarse).value, (4 + 20 * share) * deficit, 1e-6);
  EXPECT_TRUE(hot_dry_windy(coarse).is_coarse);
}

}  // namespace
}  // namespace hakea::core
