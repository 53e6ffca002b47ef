// What a fire front does: intensity, flame length, scorch.
#pragma once

#include "core/base/quantity.h"

namespace hakea::core {

// Low heat yield of eucalypt fuel, Australian practice; kJ/kg.
inline constexpr double kEucalyptHeatYield = 18600;

// Byram (1959): I = H w R.
KilowattsPerMetre fireline_intensity(TonnesPerHectare load, MetresPerHour spread, double heat_yield = kEucalyptHeatYield);

// Byram (1959): L = 0.0775 I^0.46.
Metres flame_length(KilowattsPerMetre intensity);
// Thomas (1963), for fires of the crowns and high intensity: L = 0.0266 I^(2/3) [from memory]. The two cross at 177 kW/m.
Metres thomas_flame_length(KilowattsPerMetre intensity);

// Van Wagner (1973), Can. J. For. Res. 3, 373-378, ambient temperature and no wind (the calm scorches highest at equal
// intensity; Gould, Knight & Sullivan 1997). Missing from 60 degC, where leaves scorch without a fire.
Metres scorch_height(KilowattsPerMetre intensity, Celsius air);
// The same relation with the air of its fires, no temperature asked: 0.1483 I^(2/3).
Metres mean_air_scorch_height(KilowattsPerMetre intensity);
// The same in wind at the fire.
Metres scorch_height(KilowattsPerMetre intensity, Celsius air, KilometresPerHour wind);

// Gould (1994), control-burning guide, from the flame height: a cross-check of the above at 25 degC.
Metres control_burning_scorch_height(Metres flame_height);

}  // namespace hakea::core
