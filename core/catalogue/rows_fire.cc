// Fire danger and what a fire would do.
#include <array>
#include <cmath>

#include "core/catalogue/derive.h"
#include "core/fire/danger.h"
#include "core/fire/flame.h"
#include "core/fire/spread_models.h"

namespace hakea::core {
namespace {

void compute_ffdi(UnitHours& hours) {
  derive(
      hours["ffdi"],
      [](double d, double t, double h, double v) {
        const DangerInputs in{One(d), Celsius(t), Percent(h), KilometresPerHour(v)};
        return HourValue{ffdi(in).value(), in_ffdi_domain(in)};
      },
      hours["drought_factor"], hours["air_temperature"], hours["relative_humidity"], hours["wind_speed"]);
}

void compute_rate_of_spread(UnitHours& hours) {
  Column& out = hours["rate_of_spread"];
  const SpreadModelRow* model = find_spread_model(hours.unit->fuel.spread_model);
  if (!model) return fill_missing(out, Reason::no_model);
  const TonnesPerHectare load = hours.unit->fuel.load;
  const Degrees slope = hours.unit->site.slope;
  if (load.is_missing() || slope.is_missing()) return fill_missing(out, Reason::no_parameter);
  derive(
      out,
      [&](double moisture, double wind) {
        const SpreadInputs in{load, KilometresPerHour(wind), Percent(moisture), slope};
        return HourValue{model->spread(in).value(), model->in_domain(in)};
      },
      hours["litter_moisture"], hours["in_forest_wind_speed"]);
}

void compute_fireline_intensity(UnitHours& hours) {
  Column& out = hours["fireline_intensity"];
  const Column& spread = hours["rate_of_spread"];
  const TonnesPerHectare load = hours.unit->fuel.load;
  if (load.is_missing()) {
    for (std::size_t i = 0; i < out.size(); ++i) out.set_missing(i, spread.is_missing(i) ? spread.why(i) : Reason::no_parameter);
    return;
  }
  derive(
      out, [load](double r) { return HourValue{fireline_intensity(load, MetresPerHour(r)).value()}; }, spread);
}

void compute_flame_length(UnitHours& hours) {
  derive(
      hours["flame_length"], [](double intensity) { return HourValue{flame_length(KilowattsPerMetre(intensity)).value()}; },
      hours["fireline_intensity"]);
}

void compute_flame_height(UnitHours& hours) {
  Column& out = hours["flame_height"];
  const SpreadModelRow* model = find_spread_model(hours.unit->fuel.spread_model);
  if (!model) return fill_missing(out, Reason::no_model);
  const TonnesPerHectare load = hours.unit->fuel.load;
  if (load.is_missing()) return fill_missing(out, Reason::no_parameter);
  derive(
      out, [&](double spread) { return HourValue{model->flame_height(load, MetresPerHour(spread)).value()}; },
      hours["rate_of_spread"]);
}

void compute_scorch_height(UnitHours& hours) {
  derive(
      hours["scorch_height"],
      [](double intensity, double t) { return HourValue{scorch_height(KilowattsPerMetre(intensity), Celsius(t)).value()}; },
      hours["fireline_intensity"], hours["air_temperature"]);
}

void compute_gfdi(UnitHours& hours) {
  Column& out = hours["gfdi"];
  const Fuel& fuel = hours.unit->fuel;
  if (fuel.moisture_model != MoistureModel::grass) return fill_missing(out, Reason::not_applicable);
  if (fuel.load.is_missing() || fuel.curing.is_missing()) return fill_missing(out, Reason::no_parameter);
  derive(
      out,
      [&](double t, double h, double v) {
        const GrassDangerInputs in{fuel.load, fuel.curing, Celsius(t), Percent(h), KilometresPerHour(v)};
        return HourValue{gfdi(in).value(), in_gfdi_domain(in)};
      },
      hours["air_temperature"], hours["relative_humidity"], hours["wind_speed"]);
}

using enum Origin;
constexpr auto instant = Nature::instant;
constexpr auto firm = Status::firm;
constexpr std::string_view kGuide = "McArthur 1962 Leaflet 80; Gould 1994, Aust. For. 57, 86-93";

constexpr std::array kRows{
    QuantityRow{.key = "ffdi",
                .title = "Calculated forest fire danger index",
                .unit = "1",
                .lowest = 0,
                .highest = 400,
                .model = "McArthur mark 5",
                .source = "McArthur 1967; Noble, Bary & Gill 1980, Aust. J. Ecol. 5, 201-203",
                .domain = "drought factor 0-10, 0-45 degC, humidity 5-100 %, wind 0-80 km/h",
                .inputs = "drought_factor air_temperature relative_humidity wind_speed",
                .near = 1,
                .forecast_error = 1,
                .compute = compute_ffdi},
    QuantityRow{.key = "rate_of_spread",
                .title = "Rate of spread",
                .unit = "m/h",
                .lowest = 0,
                .highest = 20000,
                .model = "by the unit's fuel: control burning in eucalypt forest",
                .source = kGuide,
                .equation = "R = 0.22 w exp(0.158 U - 0.227 M) exp(0.069 slope)",
                .domain = "load 5-25 t/ha, litter 5-25 %, wind in the forest 0-10 km/h, slope to 15 degrees",
                .inputs = "litter_moisture in_forest_wind_speed fuel.load_t_ha slope_deg",
                .near = 0.1,
                .near_is_share = true,
                .forecast_error = 0.1,
                .compute = compute_rate_of_spread},
    QuantityRow{.key = "fireline_intensity",
                .title = "Fireline intensity",
                .unit = "kW/m",
                .lowest = 0,
                .highest = 100000,
                .model = "Byram, 18 600 kJ/kg",
                .source = "Byram 1959",
                .equation = "I = H w R",
                .inputs = "rate_of_spread fuel.load_t_ha",
                .near = 0.1,
                .near_is_share = true,
                .forecast_error = 0.1,
                .compute = compute_fireline_intensity},
    QuantityRow{.key = "flame_length",
                .title = "Flame length",
                .unit = "m",
                .lowest = 0,
                .highest = 100,
                .model = "Byram",
                .source = "Byram 1959",
                .equation = "L = 0.0775 I^0.46",
                .domain = "best under 500 kW/m",
                .inputs = "fireline_intensity",
                .compute = compute_flame_length},
    QuantityRow{.key = "flame_height",
                .title = "Flame height",
                .unit = "m",
                .lowest = 0,
                .highest = 100,
                .model = "control-burning guide, to 20 %",
                .source = kGuide,
                .equation = "Hf = 0.163 w^0.862 R^0.89",
                .domain = "as the spread",
                .inputs = "rate_of_spread fuel.load_t_ha",
                .compute = compute_flame_height},
    QuantityRow{.key = "scorch_height",
                .title = "Crown scorch height",
                .unit = "m",
                .lowest = 0,
                .highest = 100,
                .model = "Van Wagner, calm",
                .source = "Van Wagner 1973, Can. J. For. Res. 3, 373-378",
                .equation = "hs = 4.4713 I^(2/3) / (60 - T)",
                .domain = "air under 60 degC; from pines",
                .inputs = "fireline_intensity air_temperature",
                .compute = compute_scorch_height},
    QuantityRow{
        .key = "gfdi",
        .title = "Calculated grassland fire danger index",
        .unit = "1",
        .lowest = 0,
        .highest = 400,
        .model = "McArthur mark 4",
        .source = "Purton 1982, Bur. Met. Met. Note 147",
        .equation = "log10 G = -0.6615 + 1.027 log10 Q - 0.004096 (100-C)^1.536 + 0.01201 T + 0.2789 sqrt V - 0.09577 sqrt H",
        .domain = "grass fuels; curing 50-100 %, humidity 5-100 %, wind 0-80 km/h",
        .inputs = "air_temperature relative_humidity wind_speed fuel.load_t_ha fuel.curing_pct",
        .near = 1,
        .forecast_error = 1,
        .compute = compute_gfdi},
};

}  // namespace

std::span<const QuantityRow> fire_rows() { return kRows; }

}  // namespace hakea::core
