// What a fire front does: intensity, flame length, scorch.
#pragma once

#include "core/base/quantity.h"

namespace hakea::core {

// Byram (1959): I = H w R, with 18 600 kJ/kg (low heat yield of eucalypt fuel, Australian practice).
KilowattsPerMetre fireline_intensity(TonnesPerHectare load, MetresPerHour spread);

// Byram (1959): L = 0.0775 I^0.46.
Metres flame_length(KilowattsPerMetre intensity);

// Van Wagner (1973), Can. J. For. Res. 3, 373-378, ambient temperature and no wind (the calm scorches highest at equal
// intensity; Gould, Knight & Sullivan 1997). Missing from 60 degC, where leaves scorch without a fire.
Metres scorch_height(KilowattsPerMetre intensity, Celsius air);
// The same in wind at the fire.
Metres scorch_height(KilowattsPerMetre intensity, Celsius air, KilometresPerHour wind);

// Gould (1994), control-burning guide, from the flame height: a cross-check of the above at 25 degC.
Metres control_burning_scorch_height(Metres flame_height);

}  // namespace hakea::core
