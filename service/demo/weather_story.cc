#include "service/demo/weather_story.h"

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cmath>
#include <string_view>

#include "core/air/thermo.h"
#include "core/base/numbers.h"
#include "core/base/result.h"
#include "core/weather/elevation.h"
#include "core/weather/sun.h"
#include "service/input/built_in_tables.h"

namespace hakea::service {
namespace {

constexpr std::array<double, kZones> kZoneElevation{20, 200, 700};  // m; where a zone's numbers were taken
constexpr double kGustFactor = 1.6;

std::vector<double> numbers_of(std::string_view line) {
  std::vector<double> numbers;
  for (const char *at = line.data(), *end = at + line.size(); at < end;) {
    double value = 0;
    const auto [next, fault] = std::from_chars(at, end, value);
    HAKEA_EXPECT(fault == std::errc() && (next == end || *next == ','));
    numbers.push_back(value);
    at = next + 1;
  }
  return numbers;
}

}  // namespace

WeatherStory::WeatherStory() {
  constexpr std::size_t kColumns = 2 + 5 * kZones + 3;
  std::string_view text = built_in_table("demo/story.csv");
  while (!text.empty()) {
    const std::string_view line = text.substr(0, text.find('\n'));
    text.remove_prefix(std::min(line.size() + 1, text.size()));
    if (line.empty() || line.front() == '#') continue;
    // "2027-03-29T13" and what follows it
    const auto part = [&](std::size_t at, std::size_t length) {
      int value = 0;
      const auto [end, fault] = std::from_chars(line.data() + at, line.data() + at + length, value);
      HAKEA_EXPECT(line.size() > 14 && fault == std::errc() && end == line.data() + at + length);
      return value;
    };
    using namespace std::chrono;
    const sys_days date(year(part(0, 4)) / part(5, 2) / part(8, 2));
    const UtcHour at = UtcHour::of(date + hours(part(11, 2)));
    if (hours_.empty()) first_ = at;
    HAKEA_EXPECT(at - first_ == static_cast<int>(hours_.size()));
    const std::vector<double> n = numbers_of(line.substr(14));
    HAKEA_EXPECT(n.size() == kColumns - 1);
    Hour& told = hours_.emplace_back();
    for (std::size_t z = 0; z < kZones; ++z)
      told.zones[z] = {n[4 + 5 * z], n[5 + 5 * z], n[6 + 5 * z], n[7 + 5 * z], n[8 + 5 * z]};
    told.rain_mm = n[0];
    told.coarse_rain_mm = n[1];
    told.cloud = n[2] / 100;
    told.sea_level_hpa = n[3];
  }
  HAKEA_EXPECT(hours_.size() > 24);
}

const WeatherStory::Hour& WeatherStory::hour(UtcHour h) const {
  const int last = static_cast<int>(hours_.size()) - 1;
  int i = std::max(0, h - first_);
  if (i > last) i = last - 23 + (i - last - 1) % 24;
  return hours_[static_cast<std::size_t>(i)];
}

double WeatherStory::cloud_at(UtcTime time) const {
  const UtcHour before = UtcHour::of(time);
  const double share = static_cast<double>((time - before.start()).count()) / 3600;
  return std::lerp(hour(before).cloud, hour(before + 1).cloud, share);
}

StoryAir WeatherStory::at(const ZoneShares& zones, Metres ground, UtcTime time) const {
  const Hour& told = hour(UtcHour::of(time));
  double t = 0, dew = 0, speed = 0, mixing = 0, east = 0, north = 0;
  for (std::size_t z = 0; z < kZones; ++z) {
    const ZoneHour& zone = told.zones[z];
    const double share = zones[z], climb = ground.value() - kZoneElevation[z];
    // A deep mixed layer has its top at one height above the sea; a shallow one follows the ground.
    const double depth = std::clamp((zone.mixing_m - 300) / 500, 0.0, 1.0);
    const auto wind = core::components({KilometresPerHour(zone.wind_kmh), Degrees(zone.from_deg)});
    t += share * (zone.temperature_c - core::kLapse * climb);
    dew += share * zone.dew_point_c;
    speed += share * zone.wind_kmh;
    mixing += share * std::max(50.0, zone.mixing_m - depth * climb);
    east += share * wind.eastward.value();
    north += share * wind.northward.value();
  }
  core::Wind wind = core::wind_of({KilometresPerHour(east), KilometresPerHour(north)});
  wind.speed = KilometresPerHour(speed);
  const double pressure =
      told.sea_level_hpa * std::pow(1 - core::kLapse * ground.value() / (t + core::kLapse * ground.value() + kFreezing),
                                    core::kGravity / (core::kDryAirConstant * core::kLapse));
  return {Celsius(t),
          Celsius(std::min(dew, t)),
          wind,
          KilometresPerHour(kGustFactor * speed),
          Hectopascals(pressure),
          Metres(mixing),
          cloud_at(time)};
}

double WeatherStory::rain_mm(UtcHour h, Telling telling) const {
  if (h < first_ || h - first_ >= static_cast<int>(hours_.size())) return 0;
  return telling == Telling::fine ? hour(h).rain_mm : hour(h).coarse_rain_mm;
}

WattsPerSquareMetre WeatherStory::shortwave(Place place, UtcTime begin, UtcTime end) const {
  constexpr auto kStep = std::chrono::minutes(15);
  core::SunTrack sun(place.latitude_deg, place.longitude_deg);
  double sum = 0;
  int count = 0;
  for (UtcTime t = begin + kStep / 2; t < end; t += kStep, ++count) {
    const Degrees elevation = sun.elevation_at(t);
    if (elevation.value() <= 0) continue;
    // Kasten & Czeplak (1980), Solar Energy 24, 177-189.
    const double through = 1 - 0.75 * std::pow(cloud_at(t), 3.4);
    sum += core::clear_sky_irradiance(elevation + core::refraction(elevation)).value() * through;
  }
  return WattsPerSquareMetre(count > 0 ? sum / count : 0);
}

}  // namespace hakea::service
