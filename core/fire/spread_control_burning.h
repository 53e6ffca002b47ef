// Low-intensity fire in eucalypt litter, lit to burn.
//
// McArthur (1962), Control burning in eucalypt forests, Leaflet 80, as equations by Gould (1994), Aust. For. 57, 86-93; read
// in two transcriptions that agree. Against line-lit summer fires the guide under-predicts two- to three-fold; it is held to
// stay valid for the early growth of point-lit fires with narrow heads (McCaw, Gould & Cheney 2008, Aust. For. 71), which
// is what a prescribed burn lights.
#pragma once

#include "core/base/quantity.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

// Wind at 1.5 m in regrowth eucalypt forest, from the open wind at 10 m.
KilometresPerHour wind_in_regrowth_forest(KilometresPerHour open_wind);

// R = 0.22 w exp(0.158 U - 0.227 M) m/min, U at 1.5 m in the forest, with McArthur's slope factor.
MetresPerHour control_burning_spread(const SpreadInputs& in);
// w 5-25 t/ha, M 5-25 %, U 0-10 km/h, slope up to 15 degrees.
bool in_control_burning_domain(const SpreadInputs& in);

// Flame height from spread and load: 0.163 w^0.862 R^0.89 with R in m/min; good to 20 %.
Metres control_burning_flame_height(TonnesPerHectare load, MetresPerHour spread);

// Litter moisture as the guide reads it from screen air, before and after noon; not by night. Not below 3 %.
Percent control_burning_moisture(Celsius air, Percent relative_humidity, bool is_after_noon);

}  // namespace hakea::core
