#include "core/weather/elevation.h"

#include <cmath>

namespace hakea::core {

bool is_large(ElevationStep step) { return std::abs(step.unit.value() - step.model.value()) > kLargeElevationStep; }

AirAndDew at_unit_elevation(AirAndDew model, ElevationStep step) {
  const double rise = step.unit.value() - step.model.value();
  AirAndDew unit{Celsius(model.air.value() - kLapse * rise), model.dew_point};
  if (unit.dew_point > unit.air) unit.dew_point = unit.air;
  return unit;
}

Hectopascals at_unit_elevation(Hectopascals model, Celsius air, ElevationStep step) {
  const double rise = step.unit.value() - step.model.value(), kelvin = to<Kelvin>(air).value();
  return Hectopascals(model.value() * std::pow(1 - kLapse * rise / kelvin, kGravity / (kStandardGas * kLapse)));
}

Metres mixing_height_above_unit(Metres above_model_ground, ElevationStep step) {
  return above_model_ground + step.model - step.unit;
}

}  // namespace hakea::core
