// The country and the weather of the demo, before they become files.
#include "service/demo/weather_story.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/air/air_hour.h"
#include "core/weather/humidity.h"
#include "core/weather/sun.h"
#include "service/demo/level_air.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

constexpr Place kTown{-37.80, 152.755}, kValley{-37.70, 152.60}, kTops{-37.48, 152.40}, kSea{-37.95, 152.90};
constexpr UtcTime kFirstMidnight = std::chrono::sys_days(std::chrono::year(2027) / 3 / 29) + std::chrono::hours(13);

TEST(DemoCountry, RisesFromTheSeaOverTheValleyToTheTops) {
  const DemoCountry country;
  EXPECT_EQ(country.elevation_m(kSea), 0);
  EXPECT_LT(country.elevation_m(kTown), 60);
  EXPECT_GT(country.elevation_m(kValley), 60);
  EXPECT_LT(country.elevation_m(kValley), 350);
  EXPECT_GT(country.elevation_m(kTops), 600);
  EXPECT_LT(country.smoothed_elevation_m({-37.58, 152.44}, 20), country.elevation_m({-37.58, 152.44}));
}

TEST(DemoCountry, SharesEveryPlaceAmongTheZones) {
  const DemoCountry country;
  EXPECT_EQ(country.zones(kTown), (ZoneShares{1, 0, 0}));
  EXPECT_EQ(country.zones(kSea), (ZoneShares{1, 0, 0}));
  EXPECT_EQ(country.zones(kValley), (ZoneShares{0, 1, 0}));
  EXPECT_EQ(country.zones(kTops), (ZoneShares{0, 0, 1}));
  for (double lat = -38; lat < -37.4; lat += 0.02)
    for (double lon = 152.2; lon < 153; lon += 0.02) {
      const ZoneShares shares = country.zones({lat, lon});
      EXPECT_NEAR(shares[0] + shares[1] + shares[2], 1, 1e-12);
      for (const double share : shares) EXPECT_GE(share, 0);
    }
}

TEST(WeatherStory, GoesOnBeforeItsFirstHourAndAfterItsLast) {
  const WeatherStory story;
  const ZoneShares valley{0, 1, 0};
  const auto temperature = [&](UtcTime t) { return story.at(valley, Metres(200), t).temperature.value(); };
  EXPECT_EQ(temperature(kFirstMidnight - std::chrono::hours(30)), temperature(kFirstMidnight));
  const UtcTime last = kFirstMidnight + std::chrono::hours(240);
  EXPECT_EQ(temperature(last + std::chrono::hours(5)), temperature(last - std::chrono::hours(19)));
  EXPECT_EQ(temperature(last + std::chrono::hours(24 * 30)), temperature(last));
  EXPECT_EQ(story.rain_mm(UtcHour::of(last + std::chrono::hours(24)), Telling::coarse), 0);
}

// The parcel method of core/air finds on the levels the depth that the story tells.
TEST(WeatherStory, MixesByDayAsDeepAsTold) {
  const WeatherStory story;
  constexpr std::array<double, 14> kLevels{1000, 975, 950, 925, 900, 875, 850, 825, 800, 775, 750, 700, 600, 500};
  std::array<LevelAir, 14> levels;
  core::AirColumn column;
  int days = 0;
  for (const auto& [zones, ground] :
       {std::pair(ZoneShares{1, 0, 0}, 20.0), std::pair(ZoneShares{0, 1, 0}, 150.0), std::pair(ZoneShares{0, 0, 1}, 640.0)})
    for (int h = 0; h < 240; ++h) {
      const UtcTime time = kFirstMidnight + std::chrono::hours(h);
      const StoryAir air = story.at(zones, Metres(ground), time);
      const Degrees sun = core::sun_position(time, kValley.latitude_deg, kValley.longitude_deg).elevation;
      if (sun.value() < 10 || air.mixing_height.value() < 300) continue;
      levels_above(air, Metres(ground), sun, kLevels, levels);
      std::vector<core::Level> above;
      for (std::size_t i = 0; i < levels.size(); ++i)
        above.push_back(
            {kLevels[i], levels[i].geopotential_height_m - ground, levels[i].temperature_c,
             core::saturation_vapour_pressure(Celsius(levels[i].temperature_c)).value() * levels[i].relative_humidity / 100,
             levels[i].eastward_kmh / 3.6, levels[i].northward_kmh / 3.6});
      const core::AirHour found = core::reduce_air(above,
                                                   {.temperature = air.temperature,
                                                    .dew_point = air.dew_point,
                                                    .pressure = air.pressure,
                                                    .wind_speed = air.wind.speed,
                                                    .wind_from_direction = air.wind.from,
                                                    .cloud = Percent(100 * air.cloud),
                                                    .solar_elevation = sun,
                                                    .latitude = Degrees(kValley.latitude_deg),
                                                    .model_mixing_height = Metres::missing()},
                                                   column);
      EXPECT_EQ(found.mixing.method, core::MixingMethod::parcel) << h;
      EXPECT_NEAR(found.mixing.height.value(), air.mixing_height.value(), 60) << h;
      EXPECT_NEAR(found.transport.speed.value() * 3.6, 1.4 * air.wind.speed.value(), 0.1 * air.wind.speed.value()) << h;
      ++days;
    }
  EXPECT_GT(days, 200);
}

}  // namespace
}  // namespace hakea::test
