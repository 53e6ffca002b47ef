// How much smoke a burn makes: fuel consumed times emission factor.
//
// Lit at an even rate. Of every part of the fuel 60 % burns in flames at once and 40 % smoulders away afterwards, falling by
// e in 4.5 hours (the shares and the time: common practice, no source). All of the load is taken to burn: an upper bound.
#pragma once

#include <cstdint>

#include "core/base/quantity.h"

namespace hakea::core {

// Fine particles (PM2.5), g per kg of dry fuel.
struct EmissionFactors {
  double flaming, smouldering;
};
enum class SmokeFuel : std::uint8_t { forest, grass, shrubs };
// Grass 7.17 and shrubs (woody savanna) 7.1 in both phases: FINN v2.5, Wiedinmyer et al. (2023), Geosci. Model Dev. 16.
// Forest fuels 13.6 and 23.2: Chen et al. (2019), Geosci. Model Dev. 12, 3283 (second-hand); by 60 to 40 17.4, beside 15 to
// 17.9 in FINN for temperate forest. None was measured in eucalypt forest.
EmissionFactors emission_factors(SmokeFuel fuel);

struct Burn {
  double area_ha = std::numeric_limits<double>::quiet_NaN();
  TonnesPerHectare load;
  Hours lighting;  // from the first to the last ignition
  EmissionFactors factors{};
};

double consumption_kg_s(const Burn& burn);  // of dry fuel, while it is being lit

double flaming_emission_g_s(const Burn& burn);
double convective_watts(const Burn& burn);          // 18.6 MJ/kg, 55 % of it convective (common practice, no source); flames only
double smouldering_emission_g_s(const Burn& burn);  // at the end of lighting, when most smoulders
double smouldering_share(Hours after_lighting);     // what is left of that rate

}  // namespace hakea::core
