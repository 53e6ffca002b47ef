// Water vapour near the ground.
//
// One pair of formulas for every conversion in the house: Bolton (1980), Mon. Wea. Rev. 108, 1046-1053, eq. 10 and its
// inverse, over water at every temperature (stations and models report humidity over water below freezing too). Good to
// 0.1 % from -30 to 35 degC, 0.4 % high at 50 degC. Missing in, missing out.
#pragma once

#include "core/base/quantity.h"

namespace hakea::core {

struct AirAndDew {
  Celsius air, dew_point;
};

struct AirAndHumidity {
  Celsius air;
  Percent relative_humidity;
};

Hectopascals saturation_vapour_pressure(Celsius t);      // Bolton eq. 10
Celsius dew_point(Hectopascals vapour_pressure);         // its inverse; missing where the pressure is not positive
Celsius dew_point(AirAndHumidity a);                     // never above the air temperature; missing at 0 %
Percent relative_humidity(AirAndDew a);                  // held to 100 % where the dew point is above the air temperature
Hectopascals vapour_pressure_deficit(AirAndHumidity a);  // never negative

// A relative humidity as fed: above 100 up to 105 % is 100 (supersaturation, packing); beyond, or below 0, it is a fault
// and missing.
Percent plausible_humidity(Percent fed);

// Moist air under pressure, epsilon = 0.62198. Missing where the vapour pressure reaches the pressure.
double mixing_ratio(Hectopascals vapour_pressure, Hectopascals pressure);       // kg/kg
double specific_humidity(Hectopascals vapour_pressure, Hectopascals pressure);  // kg/kg
Hectopascals vapour_pressure_of_mixing_ratio(double mixing_ratio, Hectopascals pressure);
Hectopascals vapour_pressure_of_specific_humidity(double specific_humidity, Hectopascals pressure);  // below 0 counts as 0

}  // namespace hakea::core
