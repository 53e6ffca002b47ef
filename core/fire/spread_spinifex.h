// Fire in spinifex hummocks.
//
// Burrows, Gill & Sharples (2018), Int. J. Wildland Fire 27; read in a transcription that cites the paper. Moisture is that of
// the hummock's profile, measured: no model gives it.
#pragma once

#include "core/base/quantity.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

// Fire spreads where SI = 0.412 U + 0.311 Cv - 0.676 M - 4.073 is over 0; U wind at 2 m in km/h, open wind / 1.35.
double spinifex_spread_index(KilometresPerHour wind_at_2m, Percent cover, Percent moisture);
// R = 40.982 U^1.399 Cv^1.201 / M^1.699 m/h, with the slope factor; 0 where it does not spread.
MetresPerHour spinifex_spread(const SpreadInputs& in);
// Cover over 0 to 75 %, moisture over 0, slope to 20 degrees (the paper's bounds were not seen).
bool in_spinifex_domain(const SpreadInputs& in);

// By years since fire: cover 26.20 t^0.227 %, at most 75; load 2.046 t^0.420 t/ha.
Percent spinifex_cover(double age_years);
TonnesPerHectare spinifex_load(double age_years);
// 0.097 R^0.424 + 0.102 w m, R in m/h; 0 where it does not spread.
Metres spinifex_flame_height(TonnesPerHectare load, MetresPerHour spread);

}  // namespace hakea::core
