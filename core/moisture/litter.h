// Moisture of surface litter under a forest, per cent of oven-dry weight.
//
// The hourly state: a time lag towards equilibrium, and wetting by rain, after Kochanski et al. (2012) and Mandel et al.
// (2014), Nat. Hazards Earth Syst. Sci. 14, 2829-2845, with the parameters of the open weather model WRF (saturation 250 %,
// rain threshold 0.05 mm/h, 8 mm/h, wetting lag 14 h, there matched to Van Wagner & Pickett 1985). The step is exact for
// weather that is constant over it, so quarter hours give what the hour gives.
//
// The regressions of Gould et al. (2007, Project Vesta) and Matthews, Gould & McCaw (2010), Int. J. Wildland Fire 19,
// 459-467, are a cross-check for hours without rain.
#pragma once

#include "core/base/quantity.h"
#include "core/moisture/equilibrium.h"

namespace hakea::core {

struct LitterLags {
  Hours drying;               // and taking up the air's moisture
  Hours wetting = Hours(14);  // by rain
};
// Of the dead fuel that has this time lag: WRF's wetting lags are 14, 140 and 1400 h for 1, 10 and 100 h.
constexpr LitterLags lags_of_class(Hours time_lag) { return {time_lag, Hours(14 * time_lag.value())}; }

// `rain_mm_h` is what falls through the canopy.
Percent litter_step(Percent moisture, EquilibriumMoisture equilibrium, double rain_mm_h, LitterLags lags, Hours step = Hours(1));

// What a canopy keeps of the rain: a share of it, and the first of each spell up to its store, which is empty again after
// six dry hours. [own definition]
struct Canopy {
  double share;  // 0..1
  double capacity_mm;
};
struct CanopyState {
  double store_mm;  // what it can still take
  int dry_h = 0;
};
// Rain of one hour that falls through; advances the state.
double throughfall(double rain_mm, Canopy canopy, CanopyState& state);

// Of the regressions: P1 sunny early afternoon, P2 other daylight, P3 night. P1 and P2 are blended over the hours 11-12 and
// 17-18 of local standard time. Not below 2 %.
struct LitterHour {
  double clock_h;  // local standard time
  bool is_day;     // the sun is up
  bool is_sunny;   // canopy-top sunshine over 500 W/m2: our reading of "sunny, October to March"
};
Percent litter_regression(AirAndHumidity screen, LitterHour hour);
// 10-40 degC, humidity 10-80 %, two days after rain [from memory].
bool in_litter_regression_domain(AirAndHumidity screen, Hours since_rain);

// The line of McArthur's (1967) meter by Viney (1991), Int. J. Wildland Fire 1, 215-234: afternoons of dry spells, 10 degC and
// more, humidity 5-70 %. Transcriptions differ by 0.02 points. For comparison only.
Percent mcarthur_litter_moisture(AirAndHumidity screen);
bool in_mcarthur_litter_domain(AirAndHumidity screen, Hours since_rain);

}  // namespace hakea::core
