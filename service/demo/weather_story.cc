#include "service/demo/weather_story.h"

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cmath>
#include <string_view>

#include "core/air/thermo.h"
#include "core/base/result.h"
#include "core/weather/elevation.h"
#include "core/weather/humidity.h"
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

double kelvin(double celsius) { return celsius + 273.15; }

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
      told.sea_level_hpa * std::pow(1 - core::kLapse * ground.value() / kelvin(t + core::kLapse * ground.value()),
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

namespace {

// theta_v by height above the ground, so made that the methods of core/air find the mixing height that was told.
class Profile {
 public:
  // `levels_m`: about how high the levels lie, ascending.
  Profile(const StoryAir& air, double surface_theta_v, Degrees solar_elevation, std::span<const double> levels_m)
      : ground_(surface_theta_v), depth_(air.mixing_height.value()) {
    const double first = levels_m.empty() ? 0 : levels_m.front();
    const bool is_day = solar_elevation.value() > kDaySun;
    if (is_day && depth_ >= first) {
      is_heated_ = true;
      // The mixed layer is a little cooler than the air at 2 m, up to a level well below the told height; from there a
      // straight line passes through it, so that linear interpolation between levels finds it.
      for (const double level : levels_m)
        if (level <= depth_ - kWellBelow) mixed_to_ = level;
      gradient_ = std::max(kStable, kCooler / (depth_ - mixed_to_));
      return;
    }
    // The bulk Richardson number is 0.25 at the told height, unless that would take a wall of warm air.
    const double wind_ms = kAloft * air.wind.speed.value() / 3.6;
    warmer_ = std::clamp(0.25 * ground_ * wind_ms * wind_ms / (core::kGravity * depth_), 0.05, 3.0);
    const bool is_still_night = !is_day && air.wind.speed.value() < kStillKmh && air.cloud < 0.6;
    if (is_still_night && depth_ < first) warmer_ = kStillNight;
  }
  static constexpr double kAloft = 1.45;  // 1.4 on the mean, with the layer below the first level

  double theta_v(double height) const {
    if (is_heated_) {
      const double bend = depth_ + kBend;
      return ground_ + gradient_ * (std::clamp(height, mixed_to_, bend) - depth_) + kStable * std::max(0.0, height - bend);
    }
    return ground_ + warmer_ + kStable * std::max(0.0, height - std::max(depth_, kInversionTop));
  }
  double depth() const { return depth_; }

 private:
  static constexpr double kStable = 0.004, kCooler = 0.8;    // K/m, K
  static constexpr double kWellBelow = 80, kBend = 260;      // m
  static constexpr double kDaySun = 5;                       // degrees, as in core/air
  static constexpr double kStillKmh = 8, kStillNight = 4.5;  // km/h, K
  static constexpr double kInversionTop = 200;               // m
  double ground_, depth_, mixed_to_ = 0, gradient_ = 0, warmer_ = 0;
  bool is_heated_ = false;
};

}  // namespace

void levels_above(const StoryAir& air, Metres ground, Degrees solar_elevation, std::span<const double> levels_hpa,
                  std::span<LevelAir> levels) {
  const double surface_hpa = air.pressure.value(), surface_c = air.temperature.value();
  const double surface_vapour = core::saturation_vapour_pressure(air.dew_point).value();
  const double mixing_ratio = core::mixing_ratio(Hectopascals(surface_vapour), air.pressure);
  const core::WindVector wind =
      core::components({air.wind.speed * Profile::kAloft, Degrees(std::fmod(air.wind.from.value() + 15, 360.0))});

  const auto height_over = [&](double p_below, double p, double mean_k) {
    return core::thickness(Hectopascals(p_below), Hectopascals(p), Kelvin(mean_k)).value();
  };
  const double surface_theta_v =
      core::potential_temperature(
          air.pressure, core::virtual_temperature(air.pressure, to<Kelvin>(air.temperature), Hectopascals(surface_vapour)))
          .value();
  const double virtual_at_ground = surface_theta_v * core::exner(air.pressure);
  std::vector<double> about;  // heights in air of one theta_v
  for (const double p : levels_hpa)
    if (p < surface_hpa - 1)
      about.push_back(height_over(surface_hpa, p, (virtual_at_ground + surface_theta_v * core::exner(Hectopascals(p))) / 2));
  const Profile profile(air, surface_theta_v, solar_elevation, about);

  double p_below = surface_hpa, z_below = 0, virtual_below = virtual_at_ground;
  for (std::size_t i = 0; i < levels_hpa.size(); ++i) {
    const double p = levels_hpa[i];
    LevelAir& level = levels[i];
    level.eastward_kmh = wind.eastward.value();
    level.northward_kmh = wind.northward.value();
    if (p >= surface_hpa - 1) {
      const double depth = height_over(p, surface_hpa, kelvin(surface_c));
      level.temperature_c = surface_c + core::kLapse * depth;
      level.geopotential_height_m = ground.value() - depth;
      level.relative_humidity = core::relative_humidity({Celsius(level.temperature_c), air.dew_point}).value();
      continue;
    }
    double virtual_k = virtual_below, z = z_below;
    for (int turn = 0; turn < 4; ++turn) {
      z = z_below + height_over(p_below, p, (virtual_below + virtual_k) / 2);
      virtual_k = profile.theta_v(z) * core::exner(Hectopascals(p));
    }
    // The vapour is mixed as deep as the air is, and dries out over 1.5 km above it.
    const double ratio = mixing_ratio * std::exp(-std::max(0.0, z - profile.depth()) / 1500);
    const double vapour = core::vapour_pressure_of_mixing_ratio(ratio, Hectopascals(p)).value();
    level.temperature_c = virtual_k * (p - (1 - core::kVapourRatio) * vapour) / p - 273.15;
    const double saturated = core::saturation_vapour_pressure(Celsius(level.temperature_c)).value();
    level.relative_humidity = std::min(100.0, 100 * vapour / saturated);
    level.geopotential_height_m = ground.value() + z;
    p_below = p;
    z_below = z;
    virtual_below = virtual_k;
  }
}

}  // namespace hakea::service
