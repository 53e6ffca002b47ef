// Moisture of dead grass, per cent of oven-dry weight.
//
// The line of Cheney, Gould & Knight (1989) through the tables of McArthur (1966) [from memory]. It follows the air of the
// hour; rain and dew on the grass do not enter it.
#pragma once

#include "core/weather/humidity.h"

namespace hakea::core {

// M = 9.58 - 0.205 T + 0.138 H, not below 2 %.
Percent grass_moisture(AirAndHumidity screen);

// 10 to 45 degC, humidity 5 to 80 %, and not wet: at least twelve hours after the last rain (common practice, no source).
bool in_grass_moisture_domain(AirAndHumidity screen, Hours since_rain);

}  // namespace hakea::core
