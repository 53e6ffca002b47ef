#include "core/weather/humidity.h"

#include <algorithm>
#include <cmath>

namespace hakea::core {
namespace {

constexpr double kEpsilon = 0.62198;  // molar mass of water over that of dry air

}  // namespace

Hectopascals saturation_vapour_pressure(Celsius t) {
  return Hectopascals(6.112 * std::exp(17.67 * t.value() / (t.value() + 243.5)));
}

Celsius dew_point(Hectopascals vapour_pressure) {
  if (!(vapour_pressure.value() > 0)) return Celsius::missing();
  const double l = std::log(vapour_pressure.value() / 6.112);
  return Celsius(243.5 * l / (17.67 - l));
}

Celsius dew_point(AirAndHumidity a) {
  const double rh = a.relative_humidity.value();
  if (!(rh > 0)) return Celsius::missing();
  if (rh >= 100) return a.air;
  return dew_point(Hectopascals(saturation_vapour_pressure(a.air).value() * rh / 100));
}

Percent relative_humidity(AirAndDew a) {
  const double rh = 100 * saturation_vapour_pressure(a.dew_point).value() / saturation_vapour_pressure(a.air).value();
  return Percent(rh > 100 ? 100 : rh);
}

Hectopascals vapour_pressure_deficit(AirAndHumidity a) {
  const double deficit = saturation_vapour_pressure(a.air).value() * (1 - a.relative_humidity.value() / 100);
  return Hectopascals(deficit < 0 ? 0 : deficit);
}

Percent plausible_humidity(Percent fed) {
  if (!(fed.value() >= 0 && fed.value() <= 105)) return Percent::missing();
  return Percent(std::min(fed.value(), 100.0));
}

double mixing_ratio(Hectopascals vapour_pressure, Hectopascals pressure) {
  const double e = vapour_pressure.value(), p = pressure.value();
  return e < p ? kEpsilon * e / (p - e) : std::nan("");
}

double specific_humidity(Hectopascals vapour_pressure, Hectopascals pressure) {
  const double e = vapour_pressure.value(), p = pressure.value();
  return e < p ? kEpsilon * e / (p - (1 - kEpsilon) * e) : std::nan("");
}

Hectopascals vapour_pressure_of_mixing_ratio(double w, Hectopascals pressure) {
  return Hectopascals(w * pressure.value() / (kEpsilon + w));
}

Hectopascals vapour_pressure_of_specific_humidity(double q, Hectopascals pressure) {
  const double moist = q < 0 ? 0 : q;  // a model's spectral noise
  return Hectopascals(moist * pressure.value() / (kEpsilon + (1 - kEpsilon) * moist));
}

}  // namespace hakea::core
