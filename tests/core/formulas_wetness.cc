#include "core/wetness/drought.h"
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

}  // namespace

Formulas wetness_formulas() {
  return {
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
