// The Keetch-Byram drought index and the drought factor.
//
// KBDI: Keetch & Byram (1968, rev. 1988), USDA FS Res. Pap. SE-38, in metric form (Crane 1982; Alexander 1990) as used by
// Finkele, Mills, Beard & Jones (2006), Aust. Met. Mag. 55, 183-197, section 2.1.1; read through the open climate library
// xclim. Millimetres of rain that would fill the soil, 0 to 203.2.
// Drought factor: Griffiths (1999), Australian Forestry 62, 202-206, with the limit of Finkele et al. (2006, eq. 14).
#pragma once

#include <span>

#include "core/base/quantity.h"

namespace hakea::core {

inline constexpr double kDroughtCap = 203.2;  // mm: 8 inches
inline constexpr double kInterception = 5.0;  // mm that a canopy keeps of a run of wet days
inline constexpr std::size_t kDroughtFactorDays = 20;

enum class DryingOrder { from_yesterday, rain_first };  // Finkele et al. 2006; SE-38 as printed

struct KbdiOptions {
  // Rain up to this counts as a dry day, which empties the canopy. Forecast models drizzle a hundredth of a millimetre on
  // many days: one gauge tip, common practice, no source. Published examples use 0.
  double dry_day_mm = 0.2;
  // SE-38's tables begin where drying begins; the metric formula would wet the soil below 6.8 degC.
  bool drying_never_negative = true;
  DryingOrder order = DryingOrder::from_yesterday;
};

struct KbdiDay {
  double kbdi_mm;
  double store_mm = kInterception;  // what the canopy can still take
};

struct DailyWeather {
  double rain_mm;                // of the rain day
  double highest_temperature_c;  // of the same 24 hours
};

// One rain day on from `before`. Missing in, missing out.
KbdiDay kbdi_step(KbdiDay before, DailyWeather weather, Millimetres annual_rain, KbdiOptions options = {});

// Evapotranspiration of a day in mm, from the deficit it begins with.
double kbdi_drying(double kbdi_mm, double highest_temperature_c, Millimetres annual_rain);

// `daily_rain_mm`: up to 20 rain days, oldest first, the last being the one that ends today. `deficit` is KBDI (or a soil
// dryness index), mm. 0 to 10. Days left out count as dry.
One drought_factor(std::span<const double> daily_rain_mm, Millimetres deficit);

// The fall of one day that, had it been the only rain and fallen on the rain day that ends today, gives this drought
// factor; 0 if no rain is needed. Of all histories with that value it recovers fastest, so what follows from it errs
// towards dry. [own definition: inverts Griffiths' eq. for one event with N = 1]
double equivalent_rain_mm(One drought_factor, Millimetres deficit);

}  // namespace hakea::core
