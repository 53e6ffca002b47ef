#include "service/demo/level_air.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "core/air/thermo.h"
#include "core/base/numbers.h"
#include "core/weather/elevation.h"
#include "core/weather/humidity.h"

namespace hakea::service {
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
      const double depth = height_over(p, surface_hpa, surface_c + kFreezing);
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
    const double mixed = core::vapour_pressure_of_mixing_ratio(ratio, Hectopascals(p)).value();
    double vapour = mixed, saturated = 0;
    for (int turn = 0; turn < 4; ++turn) {  // what would be cloud is left out; theta_v stays
      level.temperature_c = virtual_k * (p - (1 - core::kVapourRatio) * vapour) / p - kFreezing;
      saturated = core::saturation_vapour_pressure(Celsius(level.temperature_c)).value();
      vapour = std::min(mixed, saturated);
    }
    level.relative_humidity = 100 * vapour / saturated;
    level.geopotential_height_m = ground.value() + z;
    p_below = p;
    z_below = z;
    virtual_below = virtual_k;
  }
}

}  // namespace hakea::service
