// The moisture that dead fine fuel comes to in unchanging air.
//
// Van Wagner (1972), Petawawa Inf. Rep. PS-X-29, in the form of the Canadian fire weather index (Van Wagner 1987, Forestry
// Tech. Rep. 35, eqs 4 and 5). Per cent of oven-dry weight. Humidity is held to 1..100 %, since the power has no sense below.
#pragma once

#include "core/weather/humidity.h"

namespace hakea::core {

struct EquilibriumMoisture {
  Percent drying;   // approached from wetter
  Percent wetting;  // approached from drier; never above the other
};
EquilibriumMoisture equilibrium_moisture(AirAndHumidity air);

}  // namespace hakea::core
