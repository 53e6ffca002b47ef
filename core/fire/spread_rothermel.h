// Surface fire in the published fuel models.
//
// Rothermel (1972), USDA Forest Service INT-115, with the changes of Albini (1976), INT-30 (loads net of minerals weighted by
// size class); restated by Andrews (2018), RMRS-GTR-371. Thirteen beds: Albini (1976), Anderson (1982), INT-122; forty:
// Scott & Burgan (2005), RMRS-GTR-153, whose dynamic ones move cured herbs to the dead fuel. Numbers are in the publication's
// ft, lb, min, Btu; quantities at the edges.
#pragma once

#include <array>

#include "core/base/quantity.h"
#include "core/fire/fuel.h"

namespace hakea::core {

struct SpreadInputs;

// A bed with all that does not change from hour to hour. The three of an array are dead fuel of one hour (with the cured
// herbs), ten and a hundred hours.
struct PreparedBed {
  double surface_to_volume = 0, packing = 0, relative_packing = 0;  // characteristic, 1/ft; packing over the optimum
  double reaction_velocity = 0;                                     // optimum, 1/min
  double dead_net_load = 0, live_net_load = 0;                      // lb/ft2
  double heat = 0;                                                  // Btu/lb
  std::array<double, 3> share{};                                    // of the dead surface, for its mean moisture
  std::array<double, 3> fine_share{};                               // of the dead fine fuel, for its mean moisture
  double dead_extinction = 0;                                       // moistures as fractions from here
  bool has_live = false;
  double live_moisture = 0;                                   // mean
  double fine_dead_to_live = 0;                               // W' of Albini (1976)
  double propagating = 0;                                     // flux ratio
  std::array<double, 3> sink{};                               // bulk density times share times exp(-138 / sigma)
  double live_sink = 0;                                       // Btu/ft3
  double wind_coefficient = 0, wind_exponent = 0, slope = 0;  // phi_w = coefficient U^exponent; phi_s
};

// Missing parts where a class has load and its moisture is not known. Slopes that fall count as level.
PreparedBed prepared(const FuelBed& bed, Percent live_herb_moisture, Percent live_woody_moisture, Degrees slope);

// The stages of an hour, for tests and for the intensity.
struct RothermelHour {
  double reaction_intensity = 0;  // Btu/ft2/min
  double wind = 0, slope = 0;     // phi
  double heat_sink = 0;           // Btu/ft3
  double level_calm_rate = 0;     // ft/min
  double rate = 0;                // ft/min, not above the effective wind speed (Andrews, Cruz & Rothermel 2013, IJWF 22, 959-969)
  bool is_held = false;           // it would have been above
};
RothermelHour rothermel_hour(const SpreadInputs& in);

MetresPerHour rothermel_spread(const SpreadInputs& in);
// Moistures over 0, and spread not held to the effective wind speed.
bool in_rothermel_domain(const SpreadInputs& in);

// Byram's intensity from the reaction intensity and the residence time of the flames, 384 / sigma min (Anderson 1969).
KilowattsPerMetre rothermel_intensity(const SpreadInputs& in, MetresPerHour spread);

// Scott & Burgan (2005): share of the live herbs that is cured, clamp(1.33 - 1.11 M, 0, 1) with M a fraction, and the moisture
// at which a given share is.
double cured_share(Percent live_herb_moisture);
Percent herb_moisture_at(Percent curing);

}  // namespace hakea::core
