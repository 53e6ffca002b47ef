#include "core/weather/elevation.h"

#include <cmath>

#include "core/weather/humidity.h"

namespace hakea::core {

bool is_large(ElevationStep step) { return std::abs(step.unit.value() - step.model.value()) > kLargeElevationStep; }

ScreenAir at_unit_elevation(const ScreenAir& model, ElevationStep step) {
  const double rise = step.unit.value() - step.model.value();
  const double kelvin = to<Kelvin>(model.temperature).value();
  ScreenAir air;
  air.temperature = Celsius(model.temperature.value() - kLapse * rise);
  air.dew_point =
      model.dew_point.is_missing() ? dew_point(AirAndHumidity{model.temperature, model.relative_humidity}) : model.dew_point;
  if (air.dew_point > air.temperature) air.dew_point = air.temperature;
  air.relative_humidity = relative_humidity({air.temperature, air.dew_point});
  air.pressure = Hectopascals(model.pressure.value() * std::pow(1 - kLapse * rise / kelvin, kGravity / (kStandardGas * kLapse)));
  return air;
}

Metres mixing_height_above_unit(Metres above_model_ground, ElevationStep step) {
  return above_model_ground + step.model - step.unit;
}

}  // namespace hakea::core
