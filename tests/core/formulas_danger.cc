#include "core/fire/danger.h"
#include "core/fire/fosberg.h"
#include "core/moisture/equilibrium.h"
#include "tests/core/formulas.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

GrassDangerInputs grass(const Case& c) {
  return {TonnesPerHectare(c["q"]), Percent(c["c"]), Celsius(c["t"]), Percent(c["rh"]), KilometresPerHour(c["v"])};
}

}  // namespace

Formulas danger_formulas() {
  return {
      {"fosberg",
       [](const Case& c) {
         const Percent m = simard_equilibrium_moisture({Celsius(c["t"]), Percent(c["rh"])});
         return fosberg_index(m, KilometresPerHour(c["v"])).value();
       }},
      {"fosberg_of_moisture", [](const Case& c) { return fosberg_index(Percent(c["m"]), KilometresPerHour(c["v"])).value(); }},
      {"gfdi_mark3", [](const Case& c) { return gfdi_mark3(grass(c)).value(); }},
      {"gfdi_mark5", [](const Case& c) { return gfdi_mark5(grass(c)).value(); }},
      {"mark5_grass_moisture", [](const Case& c) { return mark5_grass_moisture(grass(c)).value(); }},
      {"gfdi_mark5_of_moisture",
       [](const Case& c) { return gfdi_mark5(Percent(c["m"]), TonnesPerHectare(c["w"]), KilometresPerHour(c["v"])).value(); }},
  };
}

}  // namespace hakea::test
