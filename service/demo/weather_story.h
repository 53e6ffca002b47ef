// The demo's weather: ten days over a fictional district, told hour by hour for its coast, its valley and its tops
// (config/demo/story.csv), and what the air is like above any place in it at any time.
//
// Before its first hour and after its last the story goes on as its first hour and its last day.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "core/base/quantity.h"
#include "core/base/time.h"
#include "core/weather/wind.h"
#include "service/demo/country.h"

namespace hakea::service {

enum class Telling : std::uint8_t { fine, coarse };  // the two models agree but for the rain of the last evening

// The air at an instant above ground of a given height.
struct StoryAir {
  Celsius temperature, dew_point;  // 2 m
  core::Wind wind;                 // 10 m
  KilometresPerHour gust;
  Hectopascals pressure;  // at the ground
  Metres mixing_height;   // above the ground
  double cloud = 0;       // 0 to 1
};

class WeatherStory {
 public:
  WeatherStory();  // from the built-in table

  StoryAir at(const ZoneShares& zones, Metres ground, UtcTime time) const;
  // Of the hour, mm.
  double rain_mm(UtcHour hour, Telling telling) const;
  // Mean over a stretch, from a clear sky and the cloud.
  WattsPerSquareMetre shortwave(Place place, UtcTime begin, UtcTime end) const;

 private:
  struct ZoneHour {
    double temperature_c, dew_point_c, wind_kmh, from_deg, mixing_m;
  };
  struct Hour {
    std::array<ZoneHour, kZones> zones;
    double rain_mm, coarse_rain_mm, cloud, sea_level_hpa;
  };
  const Hour& hour(UtcHour h) const;
  double cloud_at(UtcTime time) const;

  UtcHour first_;
  std::vector<Hour> hours_;
};

}  // namespace hakea::service
