// Fire in jarrah litter by the Western Australian tables.
//
// Sneeuwjagt & Peet (1985) as equations by Beck (1995), CALMScience 1(3), 325-348; read in one transcription whose pieces meet:
// a second opinion.
#pragma once

#include "core/base/quantity.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

// Fire danger index of the tables in m/h: S surface litter moisture, V wind in the forest in km/h; 0 over 27 %
// and where the damp litter of a calm hour would take it below.
MetresPerHour jarrah_danger_index(Percent surface_moisture, KilometresPerHour forest_wind);
// Fuel quantity correction, 1 at about 8 t/ha.
double jarrah_fuel_correction(TonnesPerHectare load, Percent surface_moisture);

// The index times the correction and the slope factor.
MetresPerHour wa_jarrah_spread(const SpreadInputs& in);
// Moisture 3-27 %, slope to 20 degrees.
bool in_wa_jarrah_domain(const SpreadInputs& in);

}  // namespace hakea::core
