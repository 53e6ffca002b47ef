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
      {"equilibrium_drying", "litter_moisture"},
      {"litter_step", "litter_moisture"},
      {"litter_step", "litter_moisture_sheltered"},
      {"litter_warming", "litter_moisture_difference"},
      {"byram_intensity", "fireline_intensity"},
      {"byram_length", "flame_length"},
      {"control_burning_spread", "rate_of_spread"},
      {"spread", "rate_of_spread"},
      {"control_burning_flame_height", "flame_height"},
      {"van_wagner_scorch", "scorch_height"},
      {"parcel_height", "mixing_height"},
      {"richardson_height", "mixing_height"},
      {"mechanical_height", "mixing_height"},
      {"transport_speed", "transport_wind_speed"},
      {"vector_mean_from", "transport_wind_from_direction"},
      {"turner_class", "stability_class"},
      {"turner_table", "stability_class"},
      {"radiation_class", "stability_class"},
      {"concentration_ug", "smoke_concentration"},
      {"concentration", "smoke_concentration"},
      {"bearing", "smoke_bearing"},
  };
  return keys;
}

}  // namespace hakea::test
