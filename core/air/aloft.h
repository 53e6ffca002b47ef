// Indices of how dry, unstable and windy the air above is. A fire under such air is harder to hold than its danger index
// says.
#pragma once

#include "core/air/profile.h"

namespace hakea::core {

// On a pressure level, linear in ln p between the levels around it; missing below the ground, above the top, and where a
// neighbour lacks humidity (the dew point only).
struct IsobaricAir {
  Celsius temperature, dew_point;
};
IsobaricAir at_pressure(const AirColumn& column, Hectopascals pressure);

// Haines (1988), Natl. Wea. Dig. 13(2), 23-27: 2 (very low) to 6 (high). Which levels count depends on the height of the
// ground above the sea: up to 305 m 950 and 850 hPa with the dew point at 850, up to 914 m 850 and 700 with 850, above that
// 700 and 500 with 700. The classes were published for whole degrees; a value above the upper bound of class 2 is class 3.
enum class HainesElevation : std::uint8_t { low, middle, high };
HainesElevation haines_elevation(Metres ground);
double haines_index(HainesElevation elevation, Celsius lower, Celsius upper, Celsius dew_point);
double haines_index(const AirColumn& column, Metres ground);

// C-Haines: Mills & McCaw (2010), CAWCR Technical Report 20. CA = 0.5 (T850 - T700) - 2, CB = min(T850 - Td850, 30) / 3 - 1,
// of CB above 5 the half counts. Missing where the ground is above 850 hPa.
double c_haines(Celsius t850, Celsius t700, Celsius dew_point850);
double c_haines(const AirColumn& column);

// Hot-dry-windy: Srock, Charney, Potter & Goodrick (2018), Atmosphere 9, 279 [from memory]: the strongest wind (m/s) times
// the largest vapour pressure deficit (hPa) of the lowest 50 hPa, with the 2 m air and 10 m wind; the top of the layer is
// interpolated, and the deficit is that of the air where it is, not brought down to the ground.
struct HotDryWindy {
  double value;
  bool is_coarse = false;  // fewer than two levels stand in the layer
};
HotDryWindy hot_dry_windy(const AirColumn& column);

}  // namespace hakea::core
