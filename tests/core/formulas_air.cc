#include <algorithm>
#include <cmath>

#include "core/air/inversion.h"
#include "core/air/mixing_height.h"
#include "core/air/thermo.h"
#include "core/air/transport.h"
#include "core/weather/humidity.h"
#include "tests/core/formulas.h"
#include "tests/support/sounding.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

Kelvin kelvin(const Case& c, const std::string& name) { return to<Kelvin>(Celsius(c[name])); }

CondensationLevel condensation_level(const Case& c) {
  return lifting_condensation_level(Hectopascals(c["p_hpa"]), kelvin(c, "t_c"), kelvin(c, "td_c"));
}

Kelvin moist_virtual_temperature(const Case& c) {
  return virtual_temperature(Hectopascals(c["p_hpa"]), kelvin(c, "t_c"), saturation_vapour_pressure(Celsius(c["td_c"])));
}

// Heights are geopotential (h_m) or geometric (z_m).
Metres geopotential_of(const Case& c) { return c.has("h_m") ? Metres(c["h_m"]) : geopotential_height(Metres(c["z_m"])); }

AirColumn column(const Case& c) {
  AirColumn made = column_of(read_sounding(c.text("sounding")), c.has("dry"));
  if (c.has("foot_m")) made.height_m[0] = c["foot_m"];
  return made;
}

// The parcel is the ground's own air, or air of another temperature there.
ParcelHeight parcel(const Case& c, const AirColumn& air) {
  const double theta =
      c.has("t_c") ? potential_temperature(Hectopascals(air.pressure_hpa[0]), kelvin(c, "t_c")).value() : air.theta_v_k[0];
  return parcel_height(air.height_m, air.theta_v_k, Kelvin(theta + (c.has("excess_k") ? c["excess_k"] : 0)));
}

double pressure_at(const AirColumn& air, double height) {
  const auto i =
      static_cast<std::size_t>(std::upper_bound(air.height_m.begin(), air.height_m.end(), height) - air.height_m.begin());
  const double share = (height - air.height_m[i - 1]) / (air.height_m[i] - air.height_m[i - 1]);
  return std::exp(std::lerp(std::log(air.pressure_hpa[i - 1]), std::log(air.pressure_hpa[i]), share));
}

double richardson(const Case& c) {
  const std::string name = c.text("form");
  RichardsonForm form = name == "a" ? kSurfaceForm : kOperationalForm;
  if (name == "b0") form.friction_term = 0;
  if (c.has("term")) form.friction_term = c["term"];
  if (c.has("critical")) form.critical = c["critical"];
  const AirColumn air = column(c);
  return bulk_richardson_height(air.height_m, air.theta_v_k, air.u_ms, air.v_ms, form).height.value();
}

StableLayer stable(const Case& c) {
  return stable_surface_layer(MetresPerSecond(c["u_ms"]), Metres(10), Metres(c["z0_m"]), c["cloud"], Kelvin(c["t_k"]));
}

}  // namespace

Formulas air_formulas() {
  return {
      {"potential_temperature",
       [](const Case& c) { return potential_temperature(Hectopascals(c["p_hpa"]), Kelvin(c["t_k"])).value(); }},
      {"exner", [](const Case& c) { return exner(Hectopascals(c["p_hpa"])); }},
      {"dry_lapse_temperature",
       [](const Case& c) {
         return potential_temperature(Hectopascals(c["p_hpa"]), Kelvin(c["t_k"])).value() * exner(Hectopascals(c["to_hpa"]));
       }},
      {"lcl_pressure", [](const Case& c) { return condensation_level(c).pressure.value(); }},
      {"lcl_temperature", [](const Case& c) { return to<Celsius>(condensation_level(c).temperature).value(); }},
      {"virtual_temperature", [](const Case& c) { return moist_virtual_temperature(c).value(); }},
      {"virtual_potential_temperature",
       [](const Case& c) { return potential_temperature(Hectopascals(c["p_hpa"]), moist_virtual_temperature(c)).value(); }},
      {"standard_temperature", [](const Case& c) { return standard_temperature(geopotential_of(c)).value(); }},
      {"standard_pressure", [](const Case& c) { return standard_pressure(geopotential_of(c)).value(); }},
      {"standard_height", [](const Case& c) { return standard_height(Hectopascals(c["p_hpa"])).value(); }},
      {"geopotential", [](const Case& c) { return geopotential_height(Metres(c["z_m"])).value() * kGravity; }},
      {"geometric_height", [](const Case& c) { return geometric_height(Metres(c["h_m"])).value(); }},
      {"thickness",
       [](const Case& c) {
         return thickness(Hectopascals(c["below_hpa"]), Hectopascals(c["above_hpa"]), Kelvin(c["t_k"])).value();
       }},
      {"parcel_height", [](const Case& c) { return parcel(c, column(c)).height.value(); }},
      {"parcel_pressure",
       [](const Case& c) {
         const AirColumn air = column(c);
         return pressure_at(air, parcel(c, air).height.value());
       }},
      {"richardson_height", richardson},
      {"inversion_strength", [](const Case& c) { return surface_inversion(column(c)).strength_k; }},
      {"inversion_top", [](const Case& c) { return surface_inversion(column(c)).top.value(); }},
      {"break_temperature",
       [](const Case& c) {
         const AirColumn air = column(c);
         return to<Celsius>(break_temperature(surface_inversion(air), Hectopascals(air.pressure_hpa[0]))).value();
       }},
      {"transport_speed",
       [](const Case& c) {
         const AirColumn air = column(c);
         return layer_mean_wind(air.height_m, air.u_ms, air.v_ms, Metres(c["base_m"]), Metres(c["top_m"])).speed.value();
       }},
      {"ventilation_index",
       [](const Case& c) { return ventilation_index(Metres(c["h_m"]), MetresPerSecond(c["speed_ms"])).value(); }},
      {"mechanical_height", [](const Case& c) { return mechanical_height(MetresPerSecond(c["ustar_ms"])).value(); }},
      {"neutral_friction_velocity",
       [](const Case& c) {
         return neutral_friction_velocity(MetresPerSecond(c["u_ms"]), Metres(c["z_m"]), Metres(c["z0_m"])).value();
       }},
      {"neutral_limit",
       [](const Case& c) { return neutral_limit(MetresPerSecond(c["ustar_ms"]), Degrees(c["latitude"])).value(); }},
      {"stable_friction_velocity", [](const Case& c) { return stable(c).friction_velocity.value(); }},
      {"stable_theta_star", [](const Case& c) { return stable(c).theta_star_k; }},
      {"stable_mechanical_height", [](const Case& c) { return mechanical_height(stable(c).friction_velocity).value(); }},
  };
}

}  // namespace hakea::test
