// What a slope does to the spread of the Australian models.
#pragma once

#include "core/base/quantity.h"

namespace hakea::core {

// Times the spread on the level. Uphill exp(0.069 theta), McArthur (1967), for up to 20 degrees and held from 30. Downhill
// (theta < 0) s / (2 s - 1) with s = 2^(-theta / 10), Sullivan, Sharples, Matthews & Plucinski (2014), Env. Mod. Softw. 62,
// 153-163: the mean over ground that rises and falls does not become slower than half.
double slope_factor(Degrees slope);

// -20 to 20 degrees.
bool in_slope_domain(Degrees slope);

}  // namespace hakea::core
