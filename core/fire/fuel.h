// What a unit's fuel is, as far as the models need it.
//
// Fuel types are data (config/fuels.toml): they name the models and give defaults for what a unit leaves out. A parameter
// that nobody gave stays missing, and what needs it becomes unknown.
#pragma once

#include <cstdint>
#include <limits>
#include <string>

#include "core/base/quantity.h"

namespace hakea::core {

// `time_lag` is the hourly state of eucalypt_litter for one-hour fuel in the open, which needs no parameters.
enum class MoistureModel : std::uint8_t { none, eucalypt_litter, grass, heath, mallee_heath, buttongrass, time_lag };
enum class SpreadModel : std::uint8_t { none, control_burning };

struct Fuel {
  std::string type;
  bool is_forest = false;
  MoistureModel moisture_model = MoistureModel::none;
  SpreadModel spread_model = SpreadModel::none;
  TonnesPerHectare load;  // fine surface fuel
  double age_years = std::numeric_limits<double>::quiet_NaN();
  Metres height;  // near-surface fuel
  Percent curing;
  double wind_reduction = std::numeric_limits<double>::quiet_NaN();  // open wind at 10 m over wind in the forest at 1.5 m
  Metres canopy_height;
  Hours litter_time_lag;                                                  // of the surface litter, dry
  double canopy_interception = std::numeric_limits<double>::quiet_NaN();  // share of rain that the canopy keeps
  Millimetres canopy_store;                                               // rain that a dry canopy holds before any falls through
  double litter_light_share = std::numeric_limits<double>::quiet_NaN();   // share of open sunshine reaching exposed litter
};

}  // namespace hakea::core
