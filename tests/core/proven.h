// Which formulas of the case files prove a quantity of the catalogue. A formula named like a key proves that key; what else
// does stands here.
#pragma once

#include <map>
#include <string_view>

namespace hakea::test {

inline const std::multimap<std::string_view, std::string_view>& proven_by_formula() {
  static const std::multimap<std::string_view, std::string_view> keys{
      {"dew_point", "dew_point_temperature"},
      {"wind_in_regrowth_forest", "in_forest_wind_speed"},
      // wetness
      {"ffmc_step", "ffmc"},
      {"dmc_step", "dmc"},
      {"dc_step", "dc"},
      {"severity", "daily_severity_rating"},
      {"hourly_ffmc_step", "hourly_ffmc"},
      {"isi", "hourly_isi"},
      {"fwi", "hourly_fwi"},
      // moisture
      {"equilibrium_drying", "equilibrium_moisture_drying"},
      {"equilibrium_wetting", "equilibrium_moisture_wetting"},
      {"simard", "equilibrium_moisture_simard"},
      {"nelson", "equilibrium_moisture_nelson"},
      {"afternoon_1h", "afternoon_moisture_1h"},
      {"afternoon_10h", "afternoon_moisture_10h"},
      {"litter_step", "litter_moisture"},
      {"litter_step", "litter_moisture_sheltered"},
      {"litter_step", "dead_fuel_moisture_1h"},
      {"litter_step", "dead_fuel_moisture_10h"},
      {"litter_step", "dead_fuel_moisture_100h"},
      {"hundred_hour", "dead_fuel_moisture_100h_daily"},
      {"litter_warming", "litter_moisture_difference"},
      {"litter_regression_p1", "litter_moisture_regression"},
      {"mcarthur_litter", "mcarthur_litter_moisture"},
      // danger and fire
      {"fosberg", "fosberg_index"},
      {"fosberg_of_moisture", "fosberg_index"},
      {"spread", "rate_of_spread"},
      {"control_burning_spread", "rate_of_spread"},
      {"control_burning_flame_height", "flame_height"},
      {"byram_intensity", "fireline_intensity"},
      {"byram_length", "flame_length"},
      {"van_wagner_scorch", "scorch_height"},
      // air
      {"parcel_height", "mixing_height"},
      {"richardson_height", "mixing_height"},
      {"mechanical_height", "mixing_height"},
      {"transport_speed", "transport_wind_speed"},
      {"vector_mean_from", "transport_wind_from_direction"},
      {"break_temperature", "inversion_break_temperature"},
      {"break_hour", "hours_since_inversion"},
      {"radiation_class", "stability_class"},
      {"gradient_class", "stability_class"},
      {"turner_class", "stability_class"},
      {"concentration_ug", "smoke_concentration"},
  };
  return keys;
}

}  // namespace hakea::test
