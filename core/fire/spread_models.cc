#include "core/fire/spread_models.h"

#include <array>

#include "core/fire/flame.h"
#include "core/fire/spread_buttongrass.h"
#include "core/fire/spread_control_burning.h"
#include "core/fire/spread_dry_eucalypt.h"
#include "core/fire/spread_grassland.h"
#include "core/fire/spread_heath.h"
#include "core/fire/spread_mallee_heath.h"
#include "core/fire/spread_mcarthur_forest.h"
#include "core/fire/spread_rothermel.h"
#include "core/fire/spread_spinifex.h"
#include "core/fire/spread_vesta_mk2.h"
#include "core/fire/spread_wa_jarrah.h"

namespace hakea::core {
namespace {

constexpr std::string_view kByram = "Byram 1959, 18 600 kJ/kg", kLoad = "fuel.load_t_ha";
KilowattsPerMetre byram(const SpreadInputs& in, MetresPerHour spread) { return fireline_intensity(in.fuel->load, spread); }

constexpr auto firm = Status::firm, provisional = Status::provisional;

constexpr std::array kModels{
    SpreadModelRow{.id = SpreadModel::control_burning,
                   .key = "control_burning",
                   .title = "Control burning in eucalypt forest",
                   .source = "McArthur 1962 Leaflet 80; Gould 1994, Aust. For. 57, 86-93",
                   .equation = "R = 0.22 w exp(0.158 U - 0.227 M) m/min",
                   .domain = "load 5-25 t/ha, litter moisture 5-25 %, wind in the forest 0-10 km/h, slope up to 15 degrees",
                   .inputs = "litter_moisture in_forest_wind_speed fuel.load_t_ha slope_deg",
                   .status = firm,
                   .spread = control_burning_spread,
                   .in_domain = in_control_burning_domain,
                   .intensity = kByram,
                   .intensity_inputs = kLoad,
                   .fireline_intensity = byram,
                   .flame_height = "0.163 w^0.862 R^0.89 (R in m/min), to 20 %",
                   .flame_height_inputs = kLoad,
                   .flame_height_of_spread = [](const SpreadInputs& in,
                                                MetresPerHour r) { return control_burning_flame_height(in.fuel->load, r); }},
    SpreadModelRow{.id = SpreadModel::mcarthur_forest,
                   .key = "mcarthur_forest",
                   .title = "Forest fire danger meter, mark 5",
                   .source = "McArthur 1967; Noble, Bary & Gill 1980, Aust. J. Ecol. 5, 201-203",
                   .equation = "R = 0.0012 F w km/h",
                   .domain = "going wildfires: index 12-100, slope to 20 degrees",
                   .inputs = "ffdi fuel.load_t_ha slope_deg",
                   .status = firm,
                   .spread = mcarthur_forest_spread,
                   .in_domain = in_mcarthur_forest_domain,
                   .intensity = kByram,
                   .intensity_inputs = kLoad,
                   .fireline_intensity = byram,
                   .flame_height = "13 R + 0.24 w - 2 (R in km/h)",
                   .flame_height_inputs = kLoad,
                   .flame_height_of_spread = [](const SpreadInputs& in,
                                                MetresPerHour r) { return mcarthur_forest_flame_height(in.fuel->load, r); }},
    SpreadModelRow{
        .id = SpreadModel::dry_eucalypt,
        .key = "dry_eucalypt_2012",
        .title = "Lines of fire in dry eucalypt forest",
        .source = "Cheney, Gould, McCaw & Anderson 2012, For. Ecol. Manage. 280, 120-131",
        .equation = "R = [30 + 1.5308 (U-5)^0.8576 FHSs^0.9301 (FHSns Hns)^0.6366 1.03] 18.35 M^-1.495 m/h",
        .domain = "open wind 0-25 km/h, moisture 4-20 %, slope to 20 degrees; over-predicts fires lit from points",
        .inputs = "litter_moisture wind_speed fuel.surface_score fuel.near_surface_score fuel.height_m slope_deg",
        .status = firm,
        .spread = dry_eucalypt_spread,
        .in_domain = in_dry_eucalypt_domain,
        .intensity = kByram,
        .intensity_inputs = kLoad,
        .fireline_intensity = byram,
        .flame_height = "0.0193 R^0.723 exp(0.64 He) 1.07",
        .flame_height_inputs = "fuel.elevated_height_m",
        .flame_height_of_spread = [](const SpreadInputs& in,
                                     MetresPerHour r) { return dry_eucalypt_flame_height(in.fuel->elevated_height, r); }},
    SpreadModelRow{
        .id = SpreadModel::vesta_mk2,
        .key = "vesta_mk2",
        .title = "Running fire in eucalypt forest, Vesta mark 2",
        .source = "Cruz et al. 2022, IJWF 31, 81-95, as one transcriber gives it",
        .equation = "three phases by logistic passage; moisture and availability times each",
        .domain = "wind in the forest from 3 km/h and a third to a fifth of the open wind, moisture 4-24 %, slope to 20 degrees",
        .inputs = "litter_moisture wind_speed drought_factor kbdi fuel.load_t_ha fuel.elevated_score "
                  "fuel.elevated_height_m fuel.wind_reduction slope_deg",
        .status = provisional,
        .spread = vesta_mk2_spread,
        .in_domain = in_vesta_mk2_domain,
        .intensity = kByram,
        .intensity_inputs = kLoad,
        .fireline_intensity = byram},
    SpreadModelRow{
        .id = SpreadModel::wa_jarrah,
        .key = "wa_jarrah",
        .title = "Western Australian tables, jarrah",
        .source = "Sneeuwjagt & Peet 1985; Beck 1995, CALMScience 1(3), 325-348, as one transcriber gives it",
        .equation = "R = [21.37 - 3.42 S + 0.085 S^2 + (48.09 S exp(-0.6 S) + 11.9) exp(V (0.44 - 0.0096 S^1.05))] FQCF m/h",
        .domain = "moisture 3-27 %, slope to 20 degrees",
        .inputs = "litter_moisture in_forest_wind_speed fuel.load_t_ha slope_deg",
        .status = provisional,
        .spread = wa_jarrah_spread,
        .in_domain = in_wa_jarrah_domain,
        .intensity = kByram,
        .intensity_inputs = kLoad,
        .fireline_intensity = byram},
    SpreadModelRow{.id = SpreadModel::grassland,
                   .key = "grassland",
                   .title = "Grassland, and grass among trees",
                   .source = "Cheney, Gould & Catchpole 1998, IJWF 8, 1-13; curing by Cruz et al. 2015, IJWF 24, 838-848",
                   .equation = "natural R = (0.054 + 0.269 U) phiM phiC km/h, from 5 km/h (1.4 + 0.838 (U-5)^0.844) phiM phiC",
                   .domain = "curing 20-100 %, moisture 2-24 %, slope to 20 degrees; eaten-out from 5 km/h",
                   .inputs = "litter_moisture wind_speed fuel.grass fuel.curing_pct fuel.tree_factor slope_deg",
                   .status = firm,
                   .spread = grassland_spread,
                   .in_domain = in_grassland_domain,
                   .intensity = kByram,
                   .intensity_inputs = kLoad,
                   .fireline_intensity = byram},
    SpreadModelRow{
        .id = SpreadModel::heath,
        .key = "heath",
        .title = "Heath and shrubland",
        .source = "Anderson et al. 2015, IJWF 24, 443-460; going out by Cruz et al. 2010, A.10.01",
        .equation = "R = 5.6715 (omega U)^0.9102 H^0.227 exp(-0.0762 M) / (1 + exp(-(16.57 + 1.188 U - 2.705 M))) m/min",
        .domain = "moisture 4-20 %, slope to 20 degrees",
        .inputs = "litter_moisture wind_speed fuel.height_m fuel.wind_reduction slope_deg",
        .status = provisional,
        .spread = heath_spread,
        .in_domain = in_heath_domain,
        .intensity = kByram,
        .intensity_inputs = kLoad,
        .fireline_intensity = byram,
        .flame_height = "exp(-4.142) I^0.633, of mallee-heath",
        .flame_height_of_intensity = mallee_heath_flame_height},
    SpreadModelRow{.id = SpreadModel::buttongrass,
                   .key = "buttongrass",
                   .title = "Buttongrass moorland",
                   .source = "Marsden-Smedley & Catchpole 1995, IJWF 5, 203-228; Marsden-Smedley et al. 1999, Tasforests 11",
                   .equation = "R = 0.678 U^1.312 exp(-0.0243 M) (1 - exp(-0.116 A)) m/min, U = open wind / 1.2",
                   .domain = "age to 20 years, open wind to 60 km/h, moisture to 100 %, slope to 20 degrees",
                   .inputs = "litter_moisture wind_speed fuel.age_years slope_deg",
                   .status = firm,
                   .spread = buttongrass_spread,
                   .in_domain = in_buttongrass_domain,
                   .intensity = kByram,
                   .intensity_inputs = kLoad,
                   .fireline_intensity = byram,
                   .flame_height = "0.148 I^0.403 [from memory]",
                   .flame_height_of_intensity = buttongrass_flame_height},
    SpreadModelRow{.id = SpreadModel::mallee_heath,
                   .key = "mallee_heath",
                   .title = "Mallee with heath",
                   .source = "Cruz et al. 2013, Env. Mod. Softw. 40, 21-34",
                   .equation = "R = (1-Pc) 3.337 U exp(-0.1284 M) Ho^-0.7073 + Pc 9.5751 U exp(-0.1795 M) (Co/100)^0.3589 m/min; "
                               "0 where Ps < 0.5",
                   .domain = "cover over 0 to 100 %, slope to 20 degrees; bounds of the paper not seen",
                   .inputs = "litter_moisture wind_speed fuel.canopy_cover_pct fuel.canopy_height_m slope_deg",
                   .status = firm,
                   .spread = mallee_heath_spread,
                   .in_domain = in_mallee_heath_domain,
                   .intensity = kByram,
                   .intensity_inputs = kLoad,
                   .fireline_intensity = byram,
                   .flame_height = "exp(-4.142) I^0.633",
                   .flame_height_of_intensity = mallee_heath_flame_height},
    SpreadModelRow{
        .id = SpreadModel::spinifex,
        .key = "spinifex",
        .title = "Spinifex hummocks",
        .source = "Burrows, Gill & Sharples 2018, IJWF 27",
        .equation = "R = 40.982 U^1.399 Cv^1.201 / M^1.699 m/h where 0.412 U + 0.311 Cv - 0.676 M > 4.073, U = open wind / 1.35",
        .domain = "cover over 0 to 75 %, slope to 20 degrees; bounds of the paper not seen; moisture measured",
        .inputs = "litter_moisture wind_speed fuel.ground_cover_pct slope_deg",
        .status = firm,
        .spread = spinifex_spread,
        .in_domain = in_spinifex_domain,
        .intensity = "Byram 1959, 16 700 kJ/kg",
        .intensity_inputs = kLoad,
        .fireline_intensity = [](const SpreadInputs& in, MetresPerHour r) { return fireline_intensity(in.fuel->load, r, 16700); },
        .flame_height = "0.097 R^0.424 + 0.102 w",
        .flame_height_inputs = kLoad,
        .flame_height_of_spread = [](const SpreadInputs& in,
                                     MetresPerHour r) { return spinifex_flame_height(in.fuel->load, r); }},
    SpreadModelRow{.id = SpreadModel::rothermel,
                   .key = "rothermel",
                   .title = "Fuel bed of a published fuel model",
                   .source = "Rothermel 1972, INT-115; Albini 1976, INT-30; Andrews, Cruz & Rothermel 2013, IJWF 22, 959-969",
                   .equation = "R = I_R xi (1 + phi_w + phi_s) / (rho_b epsilon Q_ig), not above the effective wind speed",
                   .domain = "moisture over 0, and not where the effective wind speed holds the spread",
                   .inputs = "litter_moisture dead_fuel_moisture_10h dead_fuel_moisture_100h in_forest_wind_speed fuel.bed "
                             "fuel.live_herb_moisture_pct fuel.live_woody_moisture_pct slope_deg",
                   .status = firm,
                   .spread = rothermel_spread,
                   .in_domain = in_rothermel_domain,
                   .intensity = "reaction intensity times residence time 384 / sigma",
                   .intensity_inputs = "litter_moisture dead_fuel_moisture_10h dead_fuel_moisture_100h fuel.bed "
                                       "fuel.live_herb_moisture_pct fuel.live_woody_moisture_pct",
                   .fireline_intensity = rothermel_intensity},
};

}  // namespace

std::span<const SpreadModelRow> spread_models() { return kModels; }

const SpreadModelRow* find_spread_model(SpreadModel id) {
  for (const SpreadModelRow& row : kModels)
    if (row.id == id) return &row;
  return nullptr;
}

const SpreadModelRow* find_spread_model(std::string_view key) {
  for (const SpreadModelRow& row : kModels)
    if (row.key == key) return &row;
  return nullptr;
}

Status spread_status(const Fuel& fuel) {
  const SpreadModelRow* row = find_spread_model(fuel.spread_model);
  return row && row->status == Status::provisional ? Status::provisional : fuel.spread_status;
}

}  // namespace hakea::core
