// Dead fine fuel moisture from the air of the moment alone: simple measures that stand beside the states.
#pragma once

#include "core/weather/humidity.h"

namespace hakea::core {

// Sharples, McRae, Weber & Gill (2009), Environ. Model. Softw. 24, 637-646: 10 - 0.25 (T - H). A number like a moisture in
// per cent where the humidity is 10 to 60 %. [digits from memory]
One fuel_moisture_index(AirAndHumidity screen);
// The same authors, 24, 764-774: max(1, V) over the index, V the wind in the open in km/h. Missing where the index is not
// positive. [digits from memory]
One simple_fire_danger_index(One fuel_moisture_index, KilometresPerHour wind_speed);

// a + b exp(-m D), D the vapour pressure deficit, for the driest hour of the day; an upper bound where D nears 0.
// Resco de Dios et al. (2015), Agric. For. Meteorol. 203, 64-73: 5.43, 52.91, 0.64 for D in kPa [constants from memory].
Percent moisture_of_deficit(Hectopascals vapour_pressure_deficit);
// Nolan et al. (2016), Remote Sens. Environ. 174, 100-108, for the south-east of Australia: 6.79, 27.43, 1.05 [from memory].
Percent moisture_of_deficit_australia(Hectopascals vapour_pressure_deficit);

}  // namespace hakea::core
