#include <cmath>
#include <cstdio>
#include <numbers>

#include "core/weather/humidity.h"
#include "core/weather/sun.h"
#include "core/weather/wind.h"
#include "tests/core/formula_inputs.h"
#include "tests/core/formulas.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

UtcTime utc(const Case& c) {
  int y = 0, mo = 0, d = 0, h = 0, mi = 0, s = 0;
  std::sscanf(c.text("utc").c_str(), "%d-%d-%dT%d:%d:%d", &y, &mo, &d, &h, &mi, &s);
  return UtcTime(std::chrono::sys_days(std::chrono::year(y) / mo / d)) + std::chrono::hours(h) + std::chrono::minutes(mi) +
         std::chrono::seconds(s);
}

LocalDate date(const Case& c) {
  int y = 0, mo = 0, d = 0;
  std::sscanf(c.text("date").c_str(), "%d-%d-%d", &y, &mo, &d);
  return std::chrono::local_days(std::chrono::year(y) / mo / d);
}

double clock_s(const Case& c, const std::optional<UtcTime>& t) {
  if (!t) return std::nan("");
  return static_cast<double>((t->time_since_epoch() - date(c).time_since_epoch()).count()) + 3600 * c["offset"];
}

constexpr Degrees kCivilTwilight{-6.0};

double rise_s(const Case& c, Degrees horizon = kSunriseHorizon) {
  return clock_s(c, sunrise(date(c), c["lat"], c["lon"], horizon));
}
double set_s(const Case& c, Degrees horizon = kSunriseHorizon) {
  return clock_s(c, sunset(date(c), c["lat"], c["lon"], horizon));
}

SplitIrradiance erbs(const Case& c) {
  // The published examples take the irradiance outside the atmosphere from Spencer's (1971) series.
  const double b = 2 * std::numbers::pi * (c["doy"] - 1) / 365;
  const double outside = 1366.1 * (1.00011 + 0.034221 * std::cos(b) + 0.00128 * std::sin(b) + 0.000719 * std::cos(2 * b) +
                                   0.000077 * std::sin(2 * b));
  return split_irradiance(WattsPerSquareMetre(c["global"]), Degrees(90 - c["zenith"]), WattsPerSquareMetre(outside));
}

DirectionStatistics statistics(const Case& c) {
  std::vector<Degrees> list;
  for (const double d : numbers(c, "directions")) list.emplace_back(d);
  return direction_statistics(list);
}

Wind mean_wind(const Case& c) {
  std::vector<Wind> winds;
  std::istringstream words(c.text("winds"));
  for (std::string word; std::getline(words, word, ';');)
    winds.push_back({KilometresPerHour(std::stod(word)), Degrees(std::stod(word.substr(word.find('@') + 1)))});
  return vector_mean(winds);
}

// Components are scaled so that the calm rule does not depend on their unit.
Wind wind(const Case& c) {
  return wind_of({to<KilometresPerHour>(MetresPerSecond(c["u"])), to<KilometresPerHour>(MetresPerSecond(c["v"]))});
}
WindVector vector(const Case& c) { return components({KilometresPerHour(c["speed"]), Degrees(c["from"])}); }
SunPosition sun(const Case& c) { return sun_position(utc(c), c["lat"], c["lon"]); }

}  // namespace

Formulas weather_formulas() {
  return {
      {"saturation_vapour_pressure", [](const Case& c) { return saturation_vapour_pressure(Celsius(c["t"])).value(); }},
      {"relative_humidity",
       [](const Case& c) {
         return relative_humidity({Celsius(c["t"]), Celsius(c["td"])}).value();
       }},
      {"dew_point",
       [](const Case& c) {
         return dew_point(AirAndHumidity{Celsius(c["t"]), Percent(c["rh"])}).value();
       }},
      {"dew_point_of_pressure", [](const Case& c) { return dew_point(Hectopascals(c["e"])).value(); }},
      {"mixing_ratio", [](const Case& c) { return mixing_ratio(Hectopascals(c["e"]), Hectopascals(c["p"])); }},
      {"specific_humidity", [](const Case& c) { return specific_humidity(Hectopascals(c["e"]), Hectopascals(c["p"])); }},
      {"vapour_pressure_of_mixing_ratio",
       [](const Case& c) { return vapour_pressure_of_mixing_ratio(c["w"], Hectopascals(c["p"])).value(); }},
      {"vapour_pressure_deficit",
       [](const Case& c) {
         return vapour_pressure_deficit({Celsius(c["t"]), Percent(c["rh"])}).value();
       }},
      {"wind_from", [](const Case& c) { return wind(c).from.value(); }},
      {"wind_speed", [](const Case& c) { return to<MetresPerSecond>(wind(c).speed).value(); }},
      {"eastward", [](const Case& c) { return vector(c).eastward.value(); }},
      {"northward", [](const Case& c) { return vector(c).northward.value(); }},
      {"mardia_deviation", [](const Case& c) { return statistics(c).mardia_deviation.value(); }},
      {"yamartino_deviation", [](const Case& c) { return statistics(c).deviation.value(); }},
      {"mean_direction", [](const Case& c) { return statistics(c).mean.value(); }},
      {"vector_mean_speed", [](const Case& c) { return mean_wind(c).speed.value(); }},
      {"vector_mean_from", [](const Case& c) { return mean_wind(c).from.value(); }},
      {"solar_elevation", [](const Case& c) { return sun(c).elevation.value(); }},
      {"solar_azimuth", [](const Case& c) { return sun(c).azimuth.value(); }},
      {"equation_of_time", [](const Case& c) { return ephemeris(utc(c)).equation_of_time_min; }},
      {"declination", [](const Case& c) { return ephemeris(utc(c)).declination_rad * 180 / std::numbers::pi; }},
      {"sun_distance", [](const Case& c) { return ephemeris(utc(c)).distance_au; }},
      {"sunrise_s", [](const Case& c) { return rise_s(c); }},
      {"sunset_s", [](const Case& c) { return set_s(c); }},
      {"civil_start_s", [](const Case& c) { return rise_s(c, kCivilTwilight); }},
      {"civil_end_s", [](const Case& c) { return set_s(c, kCivilTwilight); }},
      {"day_length_s", [](const Case& c) { return set_s(c) - rise_s(c); }},
      {"clear_sky_irradiance", [](const Case& c) { return clear_sky_irradiance(Degrees(c["elevation"])).value(); }},
      {"erbs_beam", [](const Case& c) { return erbs(c).beam_normal.value(); }},
      {"erbs_diffuse", [](const Case& c) { return erbs(c).diffuse.value(); }},
      {"erbs_clearness", [](const Case& c) { return erbs(c).clearness; }},
      {"incidence_cosine",
       [](const Case& c) {
         return incidence_cosine({Degrees(c["elevation"]), Degrees(c["azimuth"]), 1},
                                 {Degrees(c["slope"]), Degrees(c["aspect"])});
       }},
  };
}

}  // namespace hakea::test
