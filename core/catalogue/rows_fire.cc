// What a fire would do.
#include <array>

#include "core/catalogue/derive.h"
#include "core/catalogue/spread_hours.h"

namespace hakea::core {
namespace {

constexpr std::string_view kByFuel =
    "by the unit's fuel: control burning, dry eucalypt 2012, forest mark 5, Vesta mark 2, jarrah tables, grassland, heath, "
    "buttongrass, mallee-heath, spinifex, Rothermel";
constexpr std::string_view kSpreadSources =
    "McArthur 1962 and Gould 1994; McArthur 1967; Cheney et al. 1998 and 2012; Beck 1995; Marsden-Smedley & Catchpole 1995; "
    "Cruz et al. 2013, 2015 and 2022; Anderson et al. 2015; Burrows et al. 2018; Rothermel 1972 and Albini 1976";
constexpr std::string_view kFlameSources =
    "Gould 1994; Noble et al. 1980; Cheney et al. 2012; Cruz et al. 2013; Marsden-Smedley & Catchpole 1995; Burrows et al. 2018";
constexpr std::string_view kSeeModels = "each model's own: the table of spread models";

constexpr std::array kFireRows{
    QuantityRow{.key = "rate_of_spread",
                .title = "Rate of spread",
                .unit = "m/h",
                .lowest = 0,
                .highest = 60000,
                .model = kByFuel,
                .source = kSpreadSources,
                .equation = kSeeModels,
                .domain = kSeeModels,
                .inputs = "litter_moisture dead_fuel_moisture_10h dead_fuel_moisture_100h wind_speed in_forest_wind_speed ffdi "
                          "drought_factor kbdi fuel slope_deg",
                .near = 0.1,
                .near_is_share = true,
                .forecast_error = 0.1,
                .compute = compute_rate_of_spread},
    QuantityRow{.key = "fireline_intensity",
                .title = "Fireline intensity",
                .unit = "kW/m",
                .lowest = 0,
                .highest = 500000,
                .model = "Byram, 18 600 kJ/kg (spinifex 16 700); in fuel beds reaction intensity times residence time",
                .source = "Byram 1959; Rothermel 1972 and Anderson 1969 in fuel beds",
                .equation = "I = H w R; I = I_R 384 / sigma R",
                .domain = "as the spread",
                .inputs = "rate_of_spread litter_moisture dead_fuel_moisture_10h dead_fuel_moisture_100h fuel",
                .near = 0.1,
                .near_is_share = true,
                .forecast_error = 0.1,
                .compute = compute_fireline_intensity},
    QuantityRow{.key = "flame_length",
                .title = "Flame length",
                .unit = "m",
                .lowest = 0,
                .highest = 100,
                .model = "Byram; Thomas where the fuel table says so",
                .source = "Byram 1959; Thomas 1963 [from memory]",
                .equation = "L = 0.0775 I^0.46; L = 0.0266 I^(2/3)",
                .domain = "Byram best under 500 kW/m",
                .inputs = "fireline_intensity fuel",
                .compute = compute_flame_length},
    QuantityRow{.key = "flame_height",
                .title = "Flame height",
                .unit = "m",
                .lowest = 0,
                .highest = 100,
                .model = "by the unit's fuel, where one was published: not for grass, fuel beds, jarrah tables, Vesta mark 2",
                .source = kFlameSources,
                .equation = kSeeModels,
                .domain = "as the spread",
                .inputs = "rate_of_spread fireline_intensity fuel",
                .compute = compute_flame_height},
    QuantityRow{.key = "scorch_height",
                .title = "Crown scorch height",
                .unit = "m",
                .lowest = 0,
                .highest = 500,
                .model = "Van Wagner, calm, times the unit's scorch factor; in wind or for mean air where the fuel table says so",
                .source = "Van Wagner 1973, Can. J. For. Res. 3, 373-378",
                .equation = "hs = 4.4713 I^(2/3) / (60 - T)",
                .domain = "air under 60 degC; from pines",
                .inputs = "fireline_intensity air_temperature in_forest_wind_speed fuel",
                .compute = compute_scorch_height},
};

}  // namespace

std::span<const QuantityRow> fire_rows() { return kFireRows; }

}  // namespace hakea::core
