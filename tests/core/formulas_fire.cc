#include "core/fire/danger.h"
#include "core/fire/flame.h"
#include "core/fire/spread_control_burning.h"
#include "tests/core/formulas.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

MetresPerHour spread(const Case& c) {
  Fuel fuel;
  fuel.load = TonnesPerHectare(c["load"]);
  SpreadInputs in = spread_inputs(fuel, Degrees(0));
  in.forest_wind = wind_in_regrowth_forest(KilometresPerHour(c["open_wind"]));
  in.moisture = Percent(c["m"]);
  return control_burning_spread(in);
}
Metres flames(const Case& c) { return control_burning_flame_height(TonnesPerHectare(c["load"]), spread(c)); }
KilowattsPerMetre intensity(const Case& c) { return fireline_intensity(TonnesPerHectare(c["load"]), spread(c)); }

}  // namespace

Formulas fire_formulas() {
  return {
      {"ffdi",
       [](const Case& c) {
         return ffdi({One(c["d"]), Celsius(c["t"]), Percent(c["rh"]), KilometresPerHour(c["v"])}).value();
       }},
      {"gfdi",
       [](const Case& c) {
         return gfdi({TonnesPerHectare(c["q"]), Percent(c["c"]), Celsius(c["t"]), Percent(c["rh"]), KilometresPerHour(c["v"])})
             .value();
       }},
      {"control_burning_spread", [](const Case& c) { return spread(c).value(); }},
      {"control_burning_flame_height", [](const Case& c) { return flames(c).value(); }},
      {"fireline_intensity", [](const Case& c) { return intensity(c).value(); }},
      {"flame_length", [](const Case& c) { return flame_length(intensity(c)).value(); }},
      {"control_burning_scorch", [](const Case& c) { return control_burning_scorch_height(flames(c)).value(); }},
      {"scorch_height", [](const Case& c) { return scorch_height(intensity(c), Celsius(c["t"])).value(); }},
      {"wind_in_regrowth_forest",
       [](const Case& c) { return wind_in_regrowth_forest(KilometresPerHour(c["open_wind"])).value(); }},
      {"control_burning_moisture",
       [](const Case& c) { return control_burning_moisture(Celsius(c["t"]), Percent(c["rh"]), c["after_noon"] != 0).value(); }},
      {"byram_intensity",
       [](const Case& c) { return fireline_intensity(TonnesPerHectare(c["load"]), MetresPerHour(c["spread"])).value(); }},
      {"byram_length", [](const Case& c) { return flame_length(KilowattsPerMetre(c["i"])).value(); }},
      {"van_wagner_scorch", [](const Case& c) { return scorch_height(KilowattsPerMetre(c["i"]), Celsius(c["t"])).value(); }},
      {"van_wagner_scorch_in_wind",
       [](const Case& c) {
         return scorch_height(KilowattsPerMetre(c["i"]), Celsius(c["t"]), KilometresPerHour(c["u"])).value();
       }},
  };
}

}  // namespace hakea::test
