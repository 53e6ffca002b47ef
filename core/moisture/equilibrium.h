// The moisture that dead fine fuel comes to in unchanging air, per cent of oven-dry weight.
//
// The pair that the states of the house go towards is that of Van Wagner (1972), Petawawa Inf. Rep. PS-X-29, in the form of
// the Canadian fire weather index (Van Wagner 1987, Forestry Tech. Rep. 35, eqs 4 and 5). Humidity is held to 1..100 %,
// since the power has no sense below. The others stand for comparison and for what is defined by them.
#pragma once

#include "core/weather/humidity.h"

namespace hakea::core {

struct EquilibriumMoisture {
  Percent drying;   // approached from wetter
  Percent wetting;  // approached from drier; never above the other
};
EquilibriumMoisture equilibrium_moisture(AirAndHumidity air);

// Where a state begins of which nothing is known.
constexpr Percent between(EquilibriumMoisture e) { return Percent((e.drying.value() + e.wetting.value()) / 2); }

// Simard (1968), as in the fire danger rating of the United States (Bradshaw et al. 1983, INT-169) and in Fosberg's index.
// Three pieces, up to 10 %, to 50 % (with both ends) and above, which do not quite join: 0.3 and 0.4 points at 25 degC.
Percent simard_equilibrium_moisture(AirAndHumidity air);

// Nelson (1984), Can. J. For. Res. 14, 597-600, E = a + b ln(-(R T / M) ln(H / 100)), with generic 0.31 and -0.062: the middle
// of what Catchpole et al. (2001), Int. J. Wildland Fire 10, 215-222, give for several fuels; none is a eucalypt's. Humidity
// is held to 1..99 %.
Percent nelson_equilibrium_moisture(AirAndHumidity air);

}  // namespace hakea::core
