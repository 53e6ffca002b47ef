#include <stdexcept>

#include "core/fire/flame.h"
#include "core/fire/slope.h"
#include "core/fire/spread_dry_eucalypt.h"
#include "core/fire/spread_grassland.h"
#include "core/fire/spread_heath.h"
#include "core/fire/spread_mallee_heath.h"
#include "core/fire/spread_models.h"
#include "core/fire/spread_spinifex.h"
#include "core/fire/spread_vesta_mk2.h"
#include "core/fire/spread_wa_jarrah.h"
#include "core/fire/wind_to_flame.h"
#include "tests/core/formulas.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

double given(const Case& c, const std::string& name) { return c.has(name) ? c[name] : std::numeric_limits<double>::quiet_NaN(); }

Percent moisture(const Case& c) { return Percent(given(c, "m")); }
KilometresPerHour wind(const Case& c) { return KilometresPerHour(given(c, "wind")); }
KilowattsPerMetre intensity(const Case& c) { return KilowattsPerMetre(c["i"]); }

GrassState grass(const Case& c) {
  if (!c.has("grass")) return GrassState::none;
  const std::string word = c.text("grass");
  return word == "natural" ? GrassState::natural : word == "grazed" ? GrassState::grazed : GrassState::eaten_out;
}

const SpreadModelRow& model(const Case& c) {
  const SpreadModelRow* row = find_spread_model(c.text("model"));
  if (!row) throw std::runtime_error("no spread model is called " + c.text("model"));
  return *row;
}

Fuel fuel(const Case& c) {
  Fuel f;
  f.spread_model = model(c).id;
  f.load = TonnesPerHectare(given(c, "load"));
  f.age_years = given(c, "age");
  f.height = Metres(given(c, "height"));
  f.curing = Percent(given(c, "curing"));
  f.grass = grass(c);
  f.tree_factor = given(c, "tree_factor");
  f.wind_reduction = given(c, "wind_reduction");
  f.canopy_height = Metres(given(c, "canopy_height"));
  f.canopy_cover = Percent(given(c, "canopy_cover"));
  f.ground_cover = Percent(given(c, "ground_cover"));
  f.surface_score = given(c, "surface_score");
  f.near_surface_score = given(c, "near_surface_score");
  f.elevated_score = given(c, "elevated_score");
  f.elevated_height = Metres(given(c, "elevated_height"));
  return completed(f);
}

double spread(const Case& c) {
  const Fuel f = fuel(c);
  SpreadInputs in = spread_inputs(f, Degrees(c["slope"]));
  in.open_wind = wind(c);
  in.forest_wind = KilometresPerHour(given(c, "forest_wind"));
  in.moisture = moisture(c);
  in.ffdi = One(given(c, "ffdi"));
  in.drought_factor = One(given(c, "drought_factor"));
  in.kbdi = Millimetres(given(c, "kbdi"));
  return model(c).spread(in).value();
}

double flame_height(const Case& c) {
  const Fuel f = fuel(c);
  return model(c).flame_height_of_spread(spread_inputs(f, Degrees(0)), MetresPerHour(c["spread"])).value();
}

}  // namespace

Formulas spread_formulas() {
  return {
      {"spread", spread},
      {"flame_height", flame_height},
      {"dry_eucalypt_moisture_function", [](const Case& c) { return dry_eucalypt_moisture_function(moisture(c)); }},
      {"grass_spread_1998",
       [](const Case& c) {
         return grass_wind_function(grass(c), wind(c)).value() * grass_moisture_function(moisture(c), wind(c)) *
                grass_curing_function_1998(Percent(c["curing"]));
       }},
      {"grass_wind_function", [](const Case& c) { return grass_wind_function(grass(c), wind(c)).value(); }},
      {"grass_moisture_function", [](const Case& c) { return grass_moisture_function(moisture(c), wind(c)); }},
      {"grass_curing_function", [](const Case& c) { return grass_curing_function(Percent(c["curing"])); }},
      {"grass_curing_function_1998", [](const Case& c) { return grass_curing_function_1998(Percent(c["curing"])); }},
      {"heath_damping", [](const Case& c) { return heath_damping(wind(c), moisture(c)); }},
      {"mallee_heath_flame_height", [](const Case& c) { return mallee_heath_flame_height(intensity(c)).value(); }},
      {"mallee_goes", [](const Case& c) { return mallee_goes(wind(c), moisture(c), Percent(c["canopy_cover"])); }},
      {"mallee_crowns", [](const Case& c) { return mallee_crowns(wind(c), moisture(c)); }},
      {"spinifex_cover", [](const Case& c) { return spinifex_cover(c["age"]).value(); }},
      {"spinifex_load", [](const Case& c) { return spinifex_load(c["age"]).value(); }},
      {"spinifex_spread_index",
       [](const Case& c) { return spinifex_spread_index(KilometresPerHour(c["wind_at_2m"]), Percent(c["cover"]), moisture(c)); }},
      {"vesta_availability", [](const Case& c) { return vesta_availability(One(c["drought_factor"])); }},
      {"vesta_moisture_function", [](const Case& c) { return vesta_moisture_function(moisture(c)); }},
      {"wet_forest_share", [](const Case& c) { return wet_forest_share(c["wind_reduction"], Millimetres(c["kbdi"])); }},
      {"jarrah_danger_index",
       [](const Case& c) { return jarrah_danger_index(moisture(c), KilometresPerHour(c["forest_wind"])).value(); }},
      {"jarrah_fuel_correction", [](const Case& c) { return jarrah_fuel_correction(TonnesPerHectare(c["load"]), moisture(c)); }},
      {"slope_factor", [](const Case& c) { return slope_factor(Degrees(c["slope"])); }},
      {"open_midflame_factor", [](const Case& c) { return open_midflame_factor(Metres(c["depth"])); }},
      {"sheltered_midflame_factor",
       [](const Case& c) { return sheltered_midflame_factor(Metres(c["canopy_height"]), c["crown_share"]); }},
      {"thomas_length", [](const Case& c) { return thomas_flame_length(intensity(c)).value(); }},
      {"mean_air_scorch", [](const Case& c) { return mean_air_scorch_height(intensity(c)).value(); }},
      {"accumulated_load",
       [](const Case& c) {
         return accumulated_load(TonnesPerHectare(c["steady"]), TonnesPerHectare(c["residual"]), c["per_year"], c["years"])
             .value();
       }},
      {"cured_share", [](const Case& c) { return cured_share(Percent(c["herb"])); }},
  };
}

}  // namespace hakea::test
