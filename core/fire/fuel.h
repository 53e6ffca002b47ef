// What a unit's fuel is, as far as the models need it.
//
// Fuel types are data (config/fuels.toml): they name the models and give defaults for what a unit leaves out. A parameter
// that nobody gave stays missing, and what needs it becomes unknown.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>

#include "core/base/quantity.h"
#include "core/base/status.h"

namespace hakea::core {

// `time_lag` is the hourly state of eucalypt_litter for one-hour fuel in the open, which needs no parameters.
enum class MoistureModel : std::uint8_t { none, eucalypt_litter, grass, heath, mallee_heath, buttongrass, time_lag };
enum class SpreadModel : std::uint8_t {
  none,
  control_burning,
  mcarthur_forest,
  dry_eucalypt,
  vesta_mk2,
  wa_jarrah,
  grassland,
  heath,
  buttongrass,
  mallee_heath,
  spinifex,
  rothermel,
};
enum class GrassState : std::uint8_t { none, natural, grazed, eaten_out };
enum class FlameLength : std::uint8_t { byram, thomas };
enum class Scorch : std::uint8_t { ambient, mean_air, wind };

// A fuel bed as the published fuel models describe it, in their units. Classes: dead of one, ten and a hundred hours, live
// herbaceous, live woody.
struct FuelBed {
  enum Class : std::uint8_t { dead_1h, dead_10h, dead_100h, herbaceous, woody };
  std::array<double, 5> load_lb_ft2{};
  std::array<double, 5> surface_to_volume_per_ft{};  // of a class without load: anything
  double depth_ft = 0;
  double extinction_pct = 0;  // dead fuel moisture at which fire stops
  double heat_btu_lb = 0;
  bool is_dynamic = false;  // live herbs cure into the dead fuel

  bool has(Class c) const { return load_lb_ft2[c] > 0; }
};

struct Fuel {
  std::string type;
  bool is_forest = false, is_wet_forest = false;
  MoistureModel moisture_model = MoistureModel::none;
  SpreadModel spread_model = SpreadModel::none;
  Status spread_status = Status::firm;  // provisional where the model only stands in for this fuel
  FlameLength flame_length = FlameLength::byram;
  Scorch scorch = Scorch::ambient;

  TonnesPerHectare load;  // fine surface fuel; of a fuel bed its one-hour dead fuel
  double age_years = std::numeric_limits<double>::quiet_NaN();
  Metres height;  // near-surface fuel; heath; depth of a fuel bed
  Percent curing;
  double wind_reduction = std::numeric_limits<double>::quiet_NaN();  // open wind at 10 m over wind at the fire (forest: 1.5 m)
  Metres canopy_height;
  Hours litter_time_lag;                                                  // of the surface litter, dry
  double canopy_interception = std::numeric_limits<double>::quiet_NaN();  // share of rain that the canopy keeps
  Millimetres canopy_store;                                               // rain that a dry canopy holds before any falls through
  double litter_light_share = std::numeric_limits<double>::quiet_NaN();   // share of open sunshine reaching exposed litter

  Percent canopy_cover;
  double crown_ratio = std::numeric_limits<double>::quiet_NaN();  // length of the crowns over the height of the trees
  Percent ground_cover;                                           // of hummocks
  GrassState grass = GrassState::none;
  double tree_factor = std::numeric_limits<double>::quiet_NaN();         // grass fire among trees over grass fire in the open
  double surface_score = std::numeric_limits<double>::quiet_NaN();       // hazard scores, 0 to 4
  double near_surface_score = std::numeric_limits<double>::quiet_NaN();  // "
  double elevated_score = std::numeric_limits<double>::quiet_NaN();      // "
  Metres elevated_height;
  Percent live_herb_moisture, live_woody_moisture;
  double scorch_factor = 1;

  TonnesPerHectare steady_load, residual_load;  // far after a fire, and just after it
  double accumulation_per_year = std::numeric_limits<double>::quiet_NaN();
  std::optional<FuelBed> bed;
};

// Fuel that gathers between fires, Olson (1963), Ecology 44, 322-331: w = wss + (w0 - wss) exp(-k t). Missing for t < 0.
TonnesPerHectare accumulated_load(TonnesPerHectare steady, TonnesPerHectare residual, double per_year, double years);

// The fuel with what follows from what is given, where that is missing: load by age, cover of spinifex by age, wind at a fuel
// bed by its depth and canopy, moisture of its herbs by their curing. A load or height of a unit takes the place of the
// bed's one-hour load or depth.
Fuel completed(Fuel fuel);
// What can burn away: the load, of a fuel bed the dead fuel of all its classes.
TonnesPerHectare dead_load(const Fuel& fuel);

}  // namespace hakea::core
