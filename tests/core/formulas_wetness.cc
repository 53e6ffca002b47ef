#include <algorithm>
#include <cmath>

#include "core/wetness/canadian.h"
#include "core/wetness/drought.h"
#include "core/wetness/soil_dryness.h"
#include "tests/core/formula_inputs.h"
#include "tests/core/formulas.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

double kbdi_after(const Case& c, KbdiOptions options) {
  const auto rain = numbers(c, "rain"), tmax = numbers(c, "tmax");
  KbdiDay day{c["start"], kInterception};
  for (std::size_t i = 0; i < rain.size(); ++i) day = kbdi_step(day, {rain[i], tmax[i]}, Millimetres(c["annual"]), options);
  return day.kbdi_mm;
}

// The published series pair each temperature with the rain of the day before it. `after` counts the steps.
double soil_dryness(const Case& c) {
  const auto rain = numbers(c, "rain"), tmax = numbers(c, "tmax");
  SoilDryness soil{c["start"], 0};
  for (std::size_t i = 0; i < static_cast<std::size_t>(c["after"]); ++i)
    soil = soil_dryness_step(soil, Millimetres(rain[i % rain.size()]), Celsius(tmax[(i + 1) % tmax.size()]));
  return soil.deficit_mm;
}

NoonWeather noon(const Case& c) {
  return {{Celsius(c["t"]), Percent(c["rh"])}, KilometresPerHour(c["v"]), Millimetres(c["rain"])};
}
SeasonAndPlace when(const Case& c) { return {static_cast<unsigned>(c["month"]), c["lat"]}; }
One hourly(const Case& c) { return hourly_ffmc_step(One(c["before"]), {noon(c).air, noon(c).wind_speed, noon(c).rain}); }

double largest_difference(const Case& c, double (*of_month)(SeasonAndPlace)) {
  double largest = 0;
  const auto months = numbers(c, "months");
  for (unsigned m = 1; m <= 12; ++m) largest = std::max(largest, std::abs(of_month({m, c["lat"]}) - months.at(m - 1)));
  return largest;
}

}  // namespace

Formulas wetness_formulas() {
  return {
      {"soil_dryness_index", soil_dryness},
      {"ffmc_step", [](const Case& c) { return ffmc_step(One(c["before"]), noon(c)).value(); }},
      {"dmc_step", [](const Case& c) { return dmc_step(One(c["before"]), noon(c), when(c)).value(); }},
      {"dc_step", [](const Case& c) { return dc_step(One(c["before"]), noon(c), when(c)).value(); }},
      {"isi", [](const Case& c) { return initial_spread_index(One(c["ffmc"]), KilometresPerHour(c["v"])).value(); }},
      {"bui", [](const Case& c) { return build_up_index(One(c["dmc"]), One(c["dc"])).value(); }},
      {"fwi", [](const Case& c) { return fire_weather_index(One(c["isi"]), One(c["bui"])).value(); }},
      {"severity", [](const Case& c) { return daily_severity_rating(One(c["fwi"])).value(); }},
      {"hourly_ffmc_step", [](const Case& c) { return hourly(c).value(); }},
      {"hourly_moisture", [](const Case& c) { return moisture_of(hourly(c), FfmcScale::hourly).value(); }},
      {"day_lengths", [](const Case& c) { return largest_difference(c, effective_day_length); }},
      {"day_length_factors", [](const Case& c) { return largest_difference(c, day_length_factor); }},
      {"kbdi",
       [](const Case& c) {
         return kbdi_after(c, {.dry_day_mm = 0, .drying_never_negative = false, .order = DryingOrder::from_yesterday});
       }},
      {"kbdi_rain_first",
       [](const Case& c) {
         return kbdi_after(c, {.dry_day_mm = 0, .drying_never_negative = true, .order = DryingOrder::rain_first});
       }},
      {"kbdi_drying", [](const Case& c) { return kbdi_drying(c["kbdi"], c["tmax"], Millimetres(c["annual"])); }},
      {"drought_factor", [](const Case& c) { return drought_factor(numbers(c, "rain"), Millimetres(c["smd"])).value(); }},
  };
}

}  // namespace hakea::test
