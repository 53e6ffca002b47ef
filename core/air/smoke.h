// Where the smoke of a burn goes and how thick it is there: a screening, right within a factor of ten.
//
// By day a burn that is alight: flames whose smoke rises (plume_rise.h) and smouldering whose smoke lies on the ground. By
// night what still smoulders of a burn lit until sunset, in the wind at the ground; in light air it pools and follows the
// ground rather than the wind.
#pragma once

#include <span>

#include "core/air/dispersion.h"
#include "core/air/emission.h"
#include "core/weather/site.h"

namespace hakea::core {

// As seen from the middle of the unit.
struct Receptor {
  Metres distance;
  Degrees bearing;
};
// Along a great circle of the mean sphere.
Receptor seen_from(const Site& unit, double latitude_deg, double longitude_deg);

struct SmokeAir {
  int stability_class = 0;
  KilometresPerHour wind;  // 10 m
  Degrees wind_from;
  KilometresPerHour transport_wind;
  Degrees transport_from;
  Metres mixing_height;  // above the unit
  Celsius temperature;
  bool is_night = false;  // the sun is below the horizon
  Hours since_sunset;     // by night
};

// Where it drifts to: the direction that the transport wind comes from plus 180, 360 for north.
Degrees smoke_bearing(Degrees transport_from);

// Below it a wind is light and variable: its direction says nothing (common practice, no source).
inline constexpr KilometresPerHour kVariableWind{5};

// Whether the smoke goes somewhere that can be named: by night it pools and drains where the wind says nothing.
bool has_direction(const SmokeAir& air);

// Half the width of the drift sector: twice the deviation of the wind's direction that goes with the class (25, 20, 15, 10,
// 5 and 2.5 degrees from A to F; Slade 1968, Meteorology and Atomic Energy, TID-24190 [from memory]), at least 22.5 degrees,
// half of a wind of eight points (common practice, no source).
Degrees drift_half_width(int stability_class);

// By night with the 10 m wind under 5 km/h: smoke drains and pools.
bool pools(const SmokeAir& air);

// Whether a receptor lies in the drift sector of the transport wind, by night also in that of the 10 m wind; where smoke
// pools also every receptor within 4.8 km (3 miles, the distance of a US forest service's caution about roads), whatever
// its bearing. None beyond 100 km.
bool is_under_smoke(const Receptor& receptor, const SmokeAir& air);

struct Concentration {
  double ug_m3 = 0;
  // At least 100 m from the edge and at most 50 km away; wind of 1 m/s or more; no column of flame over 300 MW.
  bool in_domain = true;
};

// The smoke of a burn at a distance: PM2.5 at the ground over what is there anyway, as if the place lay on the axis of the
// smoke; over some ten minutes, so an hour's mean is less. The burn is a square with its side to the wind.
class BurnSmoke {
 public:
  BurnSmoke(const Burn& burn, Metres distance);
  Concentration in(const SmokeAir& air);

 private:
  double flaming_g_s_, smouldering_g_s_, column_watts_;
  bool is_in_reach_;
  AreaPlume plume_;
};

// At one receptor from several burns of one day: the sum over those under whose smoke it lies.
struct Contribution {
  Burn burn;
  SmokeAir air;       // at that unit
  Receptor receptor;  // as seen from that unit
};
Concentration combined_concentration(std::span<const Contribution> burns);

}  // namespace hakea::core
