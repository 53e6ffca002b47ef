#include "core/moisture/equilibrium.h"
#include "core/moisture/exposure.h"
#include "core/moisture/grass.h"
#include "core/moisture/heath.h"
#include "core/moisture/litter.h"
#include "core/moisture/simple.h"
#include "core/moisture/time_lag.h"
#include "tests/core/formulas.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

AirAndHumidity screen(const Case& c) { return {Celsius(c["t"]), Percent(c["rh"])}; }
AirAndHumidity in_sun(const Case& c) { return air_at_litter(screen(c), WattsPerSquareMetre(c["sun"]), MetresPerSecond(c["u"])); }
double regression(const Case& c, double clock_h, bool is_sunny) {
  return litter_regression(screen(c), {clock_h, clock_h >= 6 && clock_h < 18, is_sunny}).value();
}
RecentRain recent_rain(const Case& c) { return {Millimetres(c["rain"]), Hours(c["since"])}; }
double hundred_hour(const Case& c) {
  return hundred_hour_step(Percent(c["before"]), {.driest = {Celsius(c["tmax"]), Percent(c["hmin"])},
                                                  .dampest = {Celsius(c["tmin"]), Percent(c["hmax"])},
                                                  .daylight = Hours(c["light"]),
                                                  .rain = Hours(c["rain_h"])})
      .value();
}

}  // namespace

Formulas moisture_formulas() {
  return {
      {"simard", [](const Case& c) { return simard_equilibrium_moisture(screen(c)).value(); }},
      {"nelson", [](const Case& c) { return nelson_equilibrium_moisture(screen(c)).value(); }},
      {"fuel_moisture_index", [](const Case& c) { return fuel_moisture_index(screen(c)).value(); }},
      {"simple_fire_danger_index",
       [](const Case& c) { return simple_fire_danger_index(fuel_moisture_index(screen(c)), KilometresPerHour(c["v"])).value(); }},
      {"vpd_fuel_moisture", [](const Case& c) { return moisture_of_deficit(Hectopascals(10 * c["d_kpa"])).value(); }},
      {"vpd_fuel_moisture_australia",
       [](const Case& c) { return moisture_of_deficit_australia(Hectopascals(10 * c["d_kpa"])).value(); }},
      {"hundred_hour", hundred_hour},
      {"afternoon_1h", [](const Case& c) { return afternoon_moisture_1h(simard_equilibrium_moisture(screen(c))).value(); }},
      {"afternoon_10h", [](const Case& c) { return afternoon_moisture_10h(simard_equilibrium_moisture(screen(c))).value(); }},
      {"buttongrass_moisture",
       [](const Case& c) { return buttongrass_moisture(Percent(c["rh"]), Celsius(c["td"]), recent_rain(c)).value(); }},
      {"moisture_of_rain", [](const Case& c) { return moisture_of_rain(recent_rain(c)).value(); }},
      {"mallee_heath_moisture",
       [](const Case& c) { return mallee_heath_moisture(screen(c), c["sunny"] != 0, recent_rain(c)).value(); }},
      {"mcarthur_litter", [](const Case& c) { return mcarthur_litter_moisture(screen(c)).value(); }},
      {"equilibrium_drying", [](const Case& c) { return equilibrium_moisture(screen(c)).drying.value(); }},
      {"equilibrium_wetting", [](const Case& c) { return equilibrium_moisture(screen(c)).wetting.value(); }},
      {"litter_regression_p1", [](const Case& c) { return regression(c, 14, true); }},
      {"litter_regression_p2", [](const Case& c) { return regression(c, 14, false); }},
      {"litter_regression_p3", [](const Case& c) { return regression(c, 22, false); }},
      {"litter_warming", [](const Case& c) { return in_sun(c).air.value() - c["t"]; }},
      {"humidity_at_litter", [](const Case& c) { return in_sun(c).relative_humidity.value(); }},
      {"grass_moisture", [](const Case& c) { return grass_moisture(screen(c)).value(); }},
      {"heath_moisture", [](const Case& c) { return heath_moisture(screen(c), c["sunny"] != 0, recent_rain(c)).value(); }},
      {"litter_step",
       [](const Case& c) {
         return litter_step(Percent(c["m"]), {Percent(c["ed"]), Percent(c["ew"])}, c["rain"], {Hours(c["tau"])}, Hours(c["h"]))
             .value();
       }},
  };
}

}  // namespace hakea::test
