#include "core/weather/sun.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/base/numbers.h"

namespace hakea::core {
namespace {

constexpr double kAlbedo = 0.2;
// The beam on a slope is not inflated by dividing by the sine of an elevation lower than this.
const double kLowestBeam = std::sin(5 * kDegree);

double sine(double degrees) { return std::sin(degrees * kDegree); }
double cosine(double degrees) { return std::cos(degrees * kDegree); }

// Minutes of the sun's time at Greenwich.
double minutes_at(UtcTime t, double equation_of_time_min) {
  const auto seconds = t.time_since_epoch() - std::chrono::floor<std::chrono::days>(t).time_since_epoch();
  return static_cast<double>(seconds.count()) / 60 + equation_of_time_min;
}

// Hour angle in degrees, afternoon positive, give or take whole turns.
double hour_angle_deg(double minutes, double longitude_deg) { return (minutes + 4 * longitude_deg) / 4 - 180; }

SunPosition position(const Ephemeris& e, UtcTime t, double sin_latitude, double cos_latitude, double longitude_deg) {
  const double h = hour_angle_deg(minutes_at(t, e.equation_of_time_min), longitude_deg) * kDegree;
  const double sd = std::sin(e.declination_rad), cd = std::cos(e.declination_rad);
  const double ch = std::cos(h), sh = std::sin(h);
  const double sin_elevation = sin_latitude * sd + cos_latitude * cd * ch;
  const double azimuth = std::atan2(-cd * sh, sd * cos_latitude - cd * sin_latitude * ch) / kDegree;
  return {Degrees(std::asin(std::clamp(sin_elevation, -1.0, 1.0)) / kDegree), Degrees(azimuth < 0 ? azimuth + 360 : azimuth),
          e.distance_au};
}

// Isotropic sky and ground seen by a slope.
double scattered(double global, double diffuse, double cos_slope) {
  return diffuse * (1 + cos_slope) / 2 + kAlbedo * global * (1 - cos_slope) / 2;
}

}  // namespace

Ephemeris ephemeris(UtcTime t) {
  const double days = static_cast<double>(t.time_since_epoch().count()) / 86400.0 - 10957.5;  // since 2000-01-01T12
  const double c = days / 36525;
  const double l0 = std::fmod(280.46646 + c * (36000.76983 + 0.0003032 * c), 360);
  const double m = 357.52911 + c * (35999.05029 - 0.0001537 * c);
  const double ecc = 0.016708634 - c * (0.000042037 + 1.267e-7 * c);
  const double centre =
      sine(m) * (1.914602 - c * (0.004817 + 1.4e-5 * c)) + sine(2 * m) * (0.019993 - 0.000101 * c) + 0.000289 * sine(3 * m);
  const double node = 125.04 - 1934.136 * c;
  const double lambda = l0 + centre - 0.00569 - 0.00478 * sine(node);
  const double obliquity = 23 + (26 + (21.448 - c * (46.815 + c * (0.00059 - 0.001813 * c))) / 60) / 60 + 0.00256 * cosine(node);
  const double y = std::pow(std::tan(obliquity / 2 * kDegree), 2);
  const double equation = y * sine(2 * l0) - 2 * ecc * sine(m) + 4 * ecc * y * sine(m) * cosine(2 * l0) -
                          0.5 * y * y * sine(4 * l0) - 1.25 * ecc * ecc * sine(2 * m);
  return {.declination_rad = std::asin(sine(obliquity) * sine(lambda)),
          .equation_of_time_min = 4 * equation / kDegree,
          .distance_au = 1.000001018 * (1 - ecc * ecc) / (1 + ecc * cosine(m + centre))};
}

SunPosition sun_position(UtcTime t, double latitude_deg, double longitude_deg) {
  return position(ephemeris(t), t, sine(latitude_deg), cosine(latitude_deg), longitude_deg);
}

SunTrack::SunTrack(double latitude_deg, double longitude_deg)
    : sin_latitude_(sine(latitude_deg)), cos_latitude_(cosine(latitude_deg)), longitude_deg_(longitude_deg) {}

Ephemeris SunTrack::interpolated(UtcTime t) {
  const UtcTime midnight = std::chrono::floor<std::chrono::days>(t);
  if (midnight != midnight_) {
    const bool is_next = midnight_ != UtcTime::min() && midnight - midnight_ == std::chrono::days(1);
    today_ = is_next ? tomorrow_ : ephemeris(midnight);
    tomorrow_ = ephemeris(midnight + std::chrono::days(1));
    midnight_ = midnight;
  }
  const double f = static_cast<double>((t - midnight).count()) / 86400;
  const auto between = [f](double a, double b) { return a + f * (b - a); };
  return {between(today_.declination_rad, tomorrow_.declination_rad),
          between(today_.equation_of_time_min, tomorrow_.equation_of_time_min),
          between(today_.distance_au, tomorrow_.distance_au)};
}

SunPosition SunTrack::at(UtcTime t) { return position(interpolated(t), t, sin_latitude_, cos_latitude_, longitude_deg_); }

SunTrack::Moment SunTrack::moment(UtcTime t) {
  const Ephemeris e = interpolated(t);
  return {std::sin(e.declination_rad), std::cos(e.declination_rad), minutes_at(t, e.equation_of_time_min)};
}

Degrees SunTrack::elevation(const Moment& moment) const {
  const double ch = std::cos(hour_angle_deg(moment.minutes, longitude_deg_) * kDegree);
  const double sin_elevation = sin_latitude_ * moment.sin_declination + cos_latitude_ * moment.cos_declination * ch;
  return Degrees(std::asin(std::clamp(sin_elevation, -1.0, 1.0)) / kDegree);
}

Degrees refraction(Degrees elevation) {
  const double el = elevation.value();
  const double t = std::tan(el * kDegree);
  if (el > 85) return Degrees(0);
  if (el > 5) return Degrees((58.1 / t - 0.07 / (t * t * t) + 8.6e-5 / std::pow(t, 5)) / 3600);
  if (el > -0.575) return Degrees((1735 + el * (-518.2 + el * (103.4 + el * (-12.79 + 0.711 * el)))) / 3600);
  return Degrees(-20.772 / t / 3600);
}

namespace {

// Of the horizon, before noon (-1) or after it (+1).
std::optional<UtcTime> crossing(int side, LocalDate date, double latitude_deg, double longitude_deg, Degrees horizon) {
  // Local mean noon of the date; the events lie within half a day of it.
  const UtcTime noon = UtcTime(date.time_since_epoch()) + std::chrono::seconds(std::llround(43200 - 240 * longitude_deg));
  const double sin_lat = sine(latitude_deg), cos_lat = cosine(latitude_deg), sin_horizon = sine(horizon.value());
  double offset_s = 0;
  for (int pass = 0; pass < 6; ++pass) {
    const Ephemeris e = ephemeris(noon + std::chrono::seconds(std::llround(offset_s)));
    const double cos_h = (sin_horizon - sin_lat * std::sin(e.declination_rad)) / (cos_lat * std::cos(e.declination_rad));
    if (std::abs(cos_h) > 1) return std::nullopt;
    const double before_s = std::exchange(offset_s, 240 * (side * std::acos(cos_h) / kDegree) - 60 * e.equation_of_time_min);
    if (std::llround(offset_s) == std::llround(before_s)) break;  // to the second, further passes say the same
  }
  return noon + std::chrono::seconds(std::llround(offset_s));
}

}  // namespace

std::optional<UtcTime> sunrise(LocalDate date, double latitude_deg, double longitude_deg, Degrees horizon) {
  return crossing(-1, date, latitude_deg, longitude_deg, horizon);
}

std::optional<UtcTime> sunset(LocalDate date, double latitude_deg, double longitude_deg, Degrees horizon) {
  return crossing(+1, date, latitude_deg, longitude_deg, horizon);
}

WattsPerSquareMetre clear_sky_irradiance(Degrees apparent_elevation) {
  const double cos_z = sine(apparent_elevation.value());
  if (cos_z <= 0) return WattsPerSquareMetre(0);
  return WattsPerSquareMetre(1098 * cos_z * std::exp(-0.059 / cos_z));
}

WattsPerSquareMetre extraterrestrial_irradiance(double distance_au) {
  return WattsPerSquareMetre(1361 / (distance_au * distance_au));
}

SplitIrradiance split_irradiance(WattsPerSquareMetre global, Degrees elevation, WattsPerSquareMetre extraterrestrial) {
  const double g = global.value(), cos_z = sine(elevation.value());
  if (cos_z <= 0) return {WattsPerSquareMetre(0), global, 0};
  const double kt = std::min(g / (extraterrestrial.value() * std::max(cos_z, 0.065)), 1.0);
  double share = 0.165;
  if (kt <= 0.22) {
    share = 1 - 0.09 * kt;
  } else if (kt <= 0.80) {
    share = 0.9511 + kt * (-0.1604 + kt * (4.388 + kt * (-16.638 + kt * 12.336)));
  }
  return {WattsPerSquareMetre(g * (1 - share) / std::max(cos_z, kLowestBeam)), WattsPerSquareMetre(g * share), kt};
}

double incidence_cosine(const SunPosition& sun, Slope slope) {
  const double el = sun.elevation.value() * kDegree, b = slope.angle.value() * kDegree;
  return std::sin(el) * std::cos(b) + std::cos(el) * std::sin(b) * cosine(sun.azimuth.value() - slope.aspect.value());
}

WattsPerSquareMetre slope_irradiance(WattsPerSquareMetre global, const SunPosition& sun, Slope slope) {
  if (slope.angle.value() == 0) return global;
  const SplitIrradiance split = split_irradiance(global, sun.elevation, extraterrestrial_irradiance(sun.distance_au));
  const double beam = split.beam_normal.value() * std::max(incidence_cosine(sun, slope), 0.0);
  return WattsPerSquareMetre(beam + scattered(global.value(), split.diffuse.value(), cosine(slope.angle.value())));
}

WattsPerSquareMetre shaded_irradiance(WattsPerSquareMetre global, const SunPosition& sun, Slope slope) {
  const SplitIrradiance split = split_irradiance(global, sun.elevation, extraterrestrial_irradiance(sun.distance_au));
  return WattsPerSquareMetre(scattered(global.value(), split.diffuse.value(), cosine(slope.angle.value())));
}

double share_through_cloud(double cover) { return 1 - 0.75 * std::pow(cover, 3.4); }

}  // namespace hakea::core
