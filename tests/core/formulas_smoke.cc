#include <cmath>

#include "core/air/aloft.h"
#include "core/air/dispersion.h"
#include "core/air/emission.h"
#include "core/air/inversion.h"
#include "core/air/plume_rise.h"
#include "core/air/smoke.h"
#include "core/air/stability.h"
#include "core/base/numbers.h"
#include "tests/core/formulas.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

double or_nan(const Case& c, const std::string& name) { return c.has(name) ? c[name] : kNaN; }

// A class by its letter.
int letter(const Case& c) { return c.text("class")[0] - 'A' + 1; }

TurnerSky sky(const Case& c) { return {c["cloud_tenths"], Metres(c.has("ceiling_ft") ? c["ceiling_ft"] * 0.3048 : kNaN)}; }

int net_radiation(const Case& c) { return net_radiation_index(Degrees(or_nan(c, "sun_deg")), c.has("night"), sky(c)); }

MetresPerSecond knots(const Case& c) { return MetresPerSecond(c["wind_kt"] * 0.514444); }

// A stack by its exit speed, width and temperatures, or the heat of a fire.
PlumeRise rise(const Case& c) {
  const Kelvin air(c["air_k"]);
  const double buoyancy = c.has("mw")
                              ? buoyancy_of_heat(c["mw"] * 1e6, air)
                              : buoyancy_of_stack(MetresPerSecond(c["exit_ms"]), Metres(c["stack_m"]), Kelvin(c["gas_k"]), air);
  return plume_rise(buoyancy, MetresPerSecond(c["u_ms"]), letter(c), air);
}

// g/m3; a side of 1 m is a point.
double concentration(const Case& c) {
  const Metres side(c.has("side_m") ? c["side_m"] : 1), height(c.has("height_m") ? c["height_m"] : 0);
  AreaPlume plume(side, side, Metres(c["x_m"]));
  const SpreadingAir air{letter(c), MetresPerSecond(c["u_ms"]), Metres(or_nan(c, "lid_m"))};
  if (!c.has("height_m")) return plume.from_ground(c["q_g_s"], air);
  const PlumeRise risen = c.has("exit_ms") ? rise(c) : PlumeRise{};
  return plume.from_aloft(c["q_g_s"], height + risen.final_rise(), risen, air);
}

Burn burn(const Case& c) {
  return {c["area_ha"], TonnesPerHectare(c["load_t_ha"]), Hours(c["hours"]), {c["factor"], c["factor"]}};
}

Celsius celsius(const Case& c, const std::string& name) { return Celsius(c[name]); }

Receptor receptor(const Case& c) {
  return seen_from({.latitude_deg = c["lat"], .longitude_deg = c["lon"], .elevation = {}, .slope = {}, .aspect = {}}, c["to_lat"],
                   c["to_lon"]);
}

double haines(const Case& c) {
  return haines_index(haines_elevation(Metres(c["ground_m"])), celsius(c, "lower_c"), celsius(c, "upper_c"), celsius(c, "dew_c"));
}

}  // namespace

Formulas smoke_formulas() {
  return {
      {"insolation_class", [](const Case& c) { return insolation_class(Degrees(c["sun_deg"])); }},
      {"net_radiation_index", [](const Case& c) { return net_radiation(c); }},
      {"turner_table", [](const Case& c) { return turner_class(knots(c), static_cast<int>(c["index"])); }},
      {"turner_class", [](const Case& c) { return turner_class(knots(c), net_radiation(c)); }},
      {"radiation_class",
       [](const Case& c) { return radiation_class(MetresPerSecond(c["u_ms"]), WattsPerSquareMetre(c["w_m2"])); }},
      {"gradient_class", [](const Case& c) { return gradient_class(MetresPerSecond(c["u_ms"]), c["k_km"] >= 0); }},
      {"haines_index", haines},
      {"c_haines", [](const Case& c) { return c_haines(celsius(c, "t850"), celsius(c, "t700"), celsius(c, "td850")); }},
      {"lateral_spread", [](const Case& c) { return lateral_spread(letter(c), Metres(c["x_m"])).value(); }},
      {"vertical_spread", [](const Case& c) { return vertical_spread(letter(c), Metres(c["x_m"])).value(); }},
      {"final_rise", [](const Case& c) { return rise(c).final_rise().value(); }},
      {"final_distance", [](const Case& c) { return rise(c).final_distance().value(); }},
      {"buoyancy", [](const Case& c) { return rise(c).buoyancy; }},
      {"rise_at", [](const Case& c) { return rise(c).rise_at(Metres(c["x_m"])).value(); }},
      {"concentration", concentration},
      {"concentration_ug", [](const Case& c) { return 1e6 * concentration(c); }},
      {"fuel_tonnes", [](const Case& c) { return consumption_kg_s(burn(c)) * c["hours"] * 3.6; }},
      {"emission_g_s", [](const Case& c) { return consumption_kg_s(burn(c)) * c["factor"]; }},
      {"smoke_bearing", [](const Case& c) { return smoke_bearing(Degrees(c["from"])).value(); }},
      {"distance_km", [](const Case& c) { return receptor(c).distance.value() / 1000; }},
      {"bearing", [](const Case& c) { return receptor(c).bearing.value(); }},
      {"half_width", [](const Case& c) { return drift_half_width(letter(c)).value(); }},
      {"break_hour",
       [](const Case& c) {
         return c["hour"] - since_break(celsius(c, "break_c"), celsius(c, "before_c"), celsius(c, "now_c")).value();
       }},
  };
}

}  // namespace hakea::test
