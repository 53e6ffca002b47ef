#include "core/moisture/equilibrium.h"
#include "core/moisture/exposure.h"
#include "core/moisture/grass.h"
#include "core/moisture/heath.h"
#include "core/moisture/litter.h"
#include "tests/core/formulas.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

AirAndHumidity screen(const Case& c) { return {Celsius(c["t"]), Percent(c["rh"])}; }
AirAndHumidity in_sun(const Case& c) { return air_at_litter(screen(c), WattsPerSquareMetre(c["sun"]), MetresPerSecond(c["u"])); }
double regression(const Case& c, double clock_h, bool is_sunny) {
  return litter_regression(screen(c), {clock_h, 6, 18, is_sunny}).value();
}

}  // namespace

Formulas moisture_formulas() {
  return {
      {"equilibrium_drying", [](const Case& c) { return equilibrium_moisture(screen(c)).drying.value(); }},
      {"equilibrium_wetting", [](const Case& c) { return equilibrium_moisture(screen(c)).wetting.value(); }},
      {"litter_regression_p1", [](const Case& c) { return regression(c, 14, true); }},
      {"litter_regression_p2", [](const Case& c) { return regression(c, 14, false); }},
      {"litter_regression_p3", [](const Case& c) { return regression(c, 22, false); }},
      {"litter_warming", [](const Case& c) { return in_sun(c).air.value() - c["t"]; }},
      {"humidity_at_litter", [](const Case& c) { return in_sun(c).relative_humidity.value(); }},
      {"grass_moisture", [](const Case& c) { return grass_moisture(screen(c)).value(); }},
      {"heath_moisture",
       [](const Case& c) {
         return heath_moisture(screen(c), c["sunny"] != 0, {Millimetres(c["rain"]), Hours(c["since"])}).value();
       }},
      {"litter_step",
       [](const Case& c) {
         return litter_step(Percent(c["m"]), {Percent(c["ed"]), Percent(c["ew"])}, c["rain"], {Hours(c["tau"])}, Hours(c["h"]))
             .value();
       }},
  };
}

}  // namespace hakea::test
