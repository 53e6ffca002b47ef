// How high a hot plume rises: Briggs (1969), Plume Rise, AEC; (1975), Lectures on Air Pollution, in the form of the EPA's ISC3
// (EPA-454/B-95-003b, section 1.1.4). Heights above the source.
//
// Made for single sources of up to a few hundred megawatts. A burn is several columns that each rise by themselves, so the
// heat of one of them goes in, not that of the whole.
#pragma once

#include "core/base/quantity.h"

namespace hakea::core {

// Buoyancy flux, m4 s-3.
double buoyancy_of_heat(double convective_watts, Kelvin air);                                  // g Q / (pi cp rho T)
double buoyancy_of_stack(MetresPerSecond exit, Metres diameter, Kelvin exit_gas, Kelvin air);  // g v d2 (Ts - T) / (4 Ts)

struct PlumeRise {
  double buoyancy = 0;
  double wind_ms = 1;
  double stability = 0;  // s = (g/T) d theta/dz, s-2; 0 = unstable or neutral

  Metres final_rise() const;
  Metres final_distance() const;          // where it is reached
  Metres rise_at(Metres distance) const;  // 1.6 F^(1/3) x^(2/3) / u on the way, never above the final rise
};
// `stability_class`: 5 (E) has a gradient of 0.020 K/m and 6 (F) 0.035 K/m, the others are neutral. Wind is at least 1 m/s.
PlumeRise plume_rise(double buoyancy, MetresPerSecond wind, int stability_class, Kelvin air);

}  // namespace hakea::core
