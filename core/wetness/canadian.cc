#include "core/wetness/canadian.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace hakea::core {
namespace {

constexpr double kMostMoisture = 250;  // %

constexpr double scale_of(FfmcScale scale) { return scale == FfmcScale::daily ? 147.2 : 147.27723; }

double held_humidity(Percent h) { return std::isnan(h.value()) ? h.value() : std::clamp(h.value(), 0.0, 100.0); }

// Eqs 3a and 3b: the moisture after rain that reaches the litter.
double wetted(double m, double rain_mm) {
  double after = m + 42.5 * rain_mm * std::exp(-100 / (251 - m)) * (1 - std::exp(-6.93 / rain_mm));
  if (m > 150) after += 0.0015 * (m - 150) * (m - 150) * std::sqrt(rain_mm);
  return std::min(after, kMostMoisture);
}

// Eqs 4 to 9. `share` of a whole log drying day: 1 for the day's step, a tenth of it an hour. Powers are taken through the one
// logarithm of the humidity: this runs every hour.
double dried(double m, AirAndHumidity air, KilometresPerHour wind_speed, double share) {
  const double t = air.air.value(), h = held_humidity(air.relative_humidity), w = wind_speed.value();
  if (std::isnan(t) || std::isnan(h) || std::isnan(w) || std::isnan(m)) return std::nan("");
  const double log_h = std::log(h);
  const double wet_air = std::exp((h - 100) / 10);
  const double warmth = 0.18 * (21.1 - t) * (1 - std::exp(-0.115 * h));
  const auto rate = [&](double dryness, double log_dryness) {
    const double second = dryness * dryness, fourth = second * second;
    const double k = 0.424 * (1 - std::exp(1.7 * log_dryness)) + 0.0694 * std::sqrt(w) * (1 - fourth * fourth);
    return std::exp(-std::numbers::ln10 * share * k * 0.581 * std::exp(0.0365 * t));
  };
  const double drying = 0.942 * std::exp(0.679 * log_h) + 11 * wet_air + warmth;
  constexpr double kLogHundred = 2 * std::numbers::ln10;
  if (m > drying) return drying + (m - drying) * rate(h / 100, log_h - kLogHundred);
  const double wetting = 0.618 * std::exp(0.753 * log_h) + 10 * wet_air + warmth;
  if (m < wetting) return wetting - (wetting - m) * rate((100 - h) / 100, std::log(100 - h) - kLogHundred);
  return m;
}

using Months = std::array<double, 12>;
constexpr Months kNorth{6.5, 7.5, 9.0, 12.8, 13.9, 13.9, 12.4, 10.9, 9.4, 8.0, 7.0, 6.0};
constexpr Months kNearNorth{7.9, 8.4, 8.9, 9.5, 9.9, 10.2, 10.1, 9.7, 9.1, 8.6, 8.1, 7.8};
constexpr Months kNearSouth{10.1, 9.6, 9.1, 8.5, 8.1, 7.8, 7.9, 8.3, 8.9, 9.4, 9.9, 10.2};
constexpr Months kSouth{11.5, 10.5, 9.2, 7.9, 6.8, 6.2, 6.5, 7.4, 8.7, 10.0, 11.2, 11.8};
constexpr Months kFactorNorth{-1.6, -1.6, -1.6, 0.9, 3.8, 5.8, 6.4, 5.0, 2.4, 0.4, -1.6, -1.6};
constexpr Months kFactorSouth{6.4, 5.0, 2.4, 0.4, -1.6, -1.6, -1.6, -1.6, -1.6, 0.9, 3.8, 5.8};

}  // namespace

double effective_day_length(SeasonAndPlace when) {
  const double latitude = when.latitude_deg;
  if (latitude >= -15 && latitude < 15) return 9;
  const Months& months = latitude >= 30 ? kNorth : latitude >= 15 ? kNearNorth : latitude >= -30 ? kNearSouth : kSouth;
  return months[when.month - 1];
}

double day_length_factor(SeasonAndPlace when) {
  const double latitude = when.latitude_deg;
  if (latitude >= -15 && latitude < 15) return 1.39;
  return (latitude >= 15 ? kFactorNorth : kFactorSouth)[when.month - 1];
}

Percent moisture_of(One ffmc, FfmcScale scale) { return Percent(scale_of(scale) * (101 - ffmc.value()) / (59.5 + ffmc.value())); }

One ffmc_of(Percent moisture, FfmcScale scale) {
  const double m = moisture.value();
  const double code = 59.5 * (kMostMoisture - m) / (scale_of(scale) + m);
  return One(std::isnan(code) ? code : std::clamp(code, 0.0, 101.0));
}

One ffmc_step(One before, const NoonWeather& noon) {
  if (noon.rain.is_missing()) return One::missing();
  double m = moisture_of(before, FfmcScale::daily).value();
  if (noon.rain.value() > 0.5) m = wetted(m, noon.rain.value() - 0.5);
  return ffmc_of(Percent(dried(m, noon.air, noon.wind_speed, 1)), FfmcScale::daily);
}

One hourly_ffmc_step(One before, const HourlyWeather& weather, Hours step) {
  constexpr double kDrizzle = 0.01;  // mm: below, none
  if (weather.rain.is_missing()) return One::missing();
  double m = moisture_of(before, FfmcScale::hourly).value();
  if (weather.rain.value() >= kDrizzle) m = wetted(m, weather.rain.value());
  // Printed as 0.0579 and 2.303: a tenth of the daily 0.581 in logarithms to base ten.
  constexpr double kShareOfDay = 0.0579 / 0.581 * (2.303 / std::numbers::ln10);
  return ffmc_of(Percent(dried(m, weather.air, weather.wind_speed, kShareOfDay * step.value())), FfmcScale::hourly);
}

One dmc_step(One before, const NoonWeather& noon, SeasonAndPlace when) {
  const double rain = noon.rain.value();
  if (std::isnan(rain)) return One::missing();
  double p = before.value();
  if (rain > 1.5) {
    const double effective = 0.92 * rain - 1.27;
    const double moisture = 20 + 280 / std::exp(0.023 * p);
    const double b = p <= 33 ? 100 / (0.5 + 0.3 * p) : p <= 65 ? 14 - 1.3 * std::log(p) : 6.2 * std::log(p) - 17.2;
    const double after = moisture + 1000 * effective / (48.77 + b * effective);
    p = std::max(43.43 * (5.6348 - std::log(after - 20)), 0.0);
  }
  const double warmth = std::max(noon.air.air.value(), -1.1) + 1.1;
  const double drying = 1.894 * warmth * (100 - held_humidity(noon.air.relative_humidity)) * effective_day_length(when) * 1e-6;
  return One(p + 100 * drying);
}

One dc_step(One before, const NoonWeather& noon, SeasonAndPlace when) {
  const double rain = noon.rain.value(), t = noon.air.air.value();
  if (std::isnan(rain) || std::isnan(t)) return One::missing();
  double d = before.value();
  if (rain > 2.8) {
    const double moisture = 800 * std::exp(-d / 400) + 3.937 * (0.83 * rain - 1.27);
    d = std::max(400 * std::log(800 / moisture), 0.0);
  }
  return One(d + 0.5 * std::max(0.36 * (std::max(t, -2.8) + 2.8) + day_length_factor(when), 0.0));
}

One initial_spread_index(One ffmc, KilometresPerHour wind_speed, FfmcScale scale) {
  const double m = moisture_of(ffmc, scale).value();
  return One(0.208 * std::exp(0.05039 * wind_speed.value()) * 91.9 * std::exp(-0.1386 * m) * (1 + std::pow(m, 5.31) / 4.93e7));
}

One build_up_index(One dmc, One dc) {
  const double p = dmc.value(), d = dc.value();
  if (std::isnan(p) || std::isnan(d)) return One::missing();
  if (p == 0) return One(0);
  const double share = 0.8 * d / (p + 0.4 * d);
  if (p <= 0.4 * d) return One(share * p);
  return One(std::max(p - (1 - share) * (0.92 + std::pow(0.0114 * p, 1.7)), 0.0));
}

One fire_weather_index(One isi, One bui) {
  const double u = bui.value();
  const double duff = u <= 80 ? 0.626 * std::pow(u, 0.809) + 2 : 1000 / (25 + 108.64 * std::exp(-0.023 * u));
  const double b = 0.1 * isi.value() * duff;
  return One(b > 1 ? std::exp(2.72 * std::pow(0.434 * std::log(b), 0.647)) : b);
}

One daily_severity_rating(One fwi) { return One(0.0272 * std::pow(fwi.value(), 1.77)); }

}  // namespace hakea::core
