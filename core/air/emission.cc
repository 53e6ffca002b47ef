#include "core/air/emission.h"

#include <cmath>

namespace hakea::core {
namespace {

constexpr double kFlamingShare = 0.6, kSmoulderingHours = 4.5;
constexpr double kHeatYield = 18.6e6, kConvectiveShare = 0.55;  // J/kg

}  // namespace

EmissionFactors emission_factors(SmokeFuel fuel) {
  switch (fuel) {
    case SmokeFuel::forest: return {13.6, 23.2};
    case SmokeFuel::grass: return {7.17, 7.17};
    case SmokeFuel::shrubs: return {7.1, 7.1};
  }
  return {13.6, 23.2};
}

double consumption_kg_s(const Burn& burn) { return burn.area_ha * burn.load.value() * 1000 / (burn.lighting.value() * 3600); }

double flaming_emission_g_s(const Burn& burn) { return kFlamingShare * consumption_kg_s(burn) * burn.factors.flaming; }

double convective_watts(const Burn& burn) { return kConvectiveShare * kHeatYield * kFlamingShare * consumption_kg_s(burn); }

double smouldering_emission_g_s(const Burn& burn) {
  const double alight = 1 - std::exp(-burn.lighting.value() / kSmoulderingHours);
  return (1 - kFlamingShare) * consumption_kg_s(burn) * burn.factors.smouldering * alight;
}

double smouldering_share(Hours after_lighting) { return std::exp(-after_lighting.value() / kSmoulderingHours); }

}  // namespace hakea::core
