// Danger indices: those of the forest and grassland meters in use, and others beside them.
#include <array>

#include "core/catalogue/derive.h"
#include "core/fire/danger.h"
#include "core/fire/fosberg.h"
#include "core/moisture/simple.h"
#include "core/wetness/canadian.h"

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

void compute_fosberg(UnitHours& hours) {
  derive(
      hours["fosberg_index"],
      [](double e, double v) { return HourValue{fosberg_index(Percent(e), KilometresPerHour(v)).value()}; },
      hours["equilibrium_moisture_simard"], hours["wind_speed"]);
}

void compute_simple_index(UnitHours& hours) {
  derive(
      hours["simple_fire_danger_index"],
      [](double index, double v) { return HourValue{simple_fire_danger_index(One(index), KilometresPerHour(v)).value()}; },
      hours["fuel_moisture_index"], hours["wind_speed"]);
}

void compute_hourly_isi(UnitHours& hours) {
  derive(
      hours["hourly_isi"],
      [](double code, double v) {
        return HourValue{initial_spread_index(One(code), KilometresPerHour(v), FfmcScale::hourly).value()};
      },
      hours["hourly_ffmc"], hours["wind_speed"]);
}

void compute_hourly_fwi(UnitHours& hours) {
  derive(
      hours["hourly_fwi"], [](double isi, double bui) { return HourValue{fire_weather_index(One(isi), One(bui)).value()}; },
      hours["hourly_isi"], hours["bui"]);
}

template <One (*Index)(const GrassDangerInputs&)>
void compute_grass_index(UnitHours& hours, std::string_view key) {
  Column& out = hours[key];
  const Fuel& fuel = hours.unit->fuel;
  if (fuel.moisture_model != MoistureModel::grass) return fill_missing(out, Reason::not_applicable);
  if (fuel.load.is_missing() || fuel.curing.is_missing()) return fill_missing(out, Reason::no_parameter);
  derive(
      out,
      [&](double t, double h, double v) {
        const GrassDangerInputs in{fuel.load, fuel.curing, Celsius(t), Percent(h), KilometresPerHour(v)};
        return HourValue{Index(in).value(), in_gfdi_domain(in)};
      },
      hours["air_temperature"], hours["relative_humidity"], hours["wind_speed"]);
}
void compute_mark4(UnitHours& hours) { compute_grass_index<gfdi>(hours, "gfdi"); }
void compute_mark3(UnitHours& hours) { compute_grass_index<gfdi_mark3>(hours, "gfdi_mark3"); }
void compute_mark5(UnitHours& hours) { compute_grass_index<gfdi_mark5>(hours, "gfdi_mark5"); }

constexpr std::string_view kCanadian = "Van Wagner 1987, Forestry Tech. Rep. 35; Van Wagner 1977, PS-X-69";
constexpr std::string_view kNoble = "Noble, Bary & Gill 1980, Aust. J. Ecol. 5, 201-203 [from memory]";
constexpr std::string_view kGrassDomain = "grass fuels; curing 50-100 %, humidity 5-100 %, wind 0-80 km/h";
constexpr std::string_view kGrassInputs = "air_temperature relative_humidity wind_speed fuel.load_t_ha fuel.curing_pct";

constexpr std::array kDangerRows{
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
    QuantityRow{
        .key = "gfdi",
        .title = "Calculated grassland fire danger index",
        .unit = "1",
        .lowest = 0,
        .highest = 400,
        .model = "McArthur mark 4",
        .source = "Purton 1982, Bur. Met. Met. Note 147",
        .equation = "log10 G = -0.6615 + 1.027 log10 Q - 0.004096 (100-C)^1.536 + 0.01201 T + 0.2789 sqrt V - 0.09577 sqrt H",
        .domain = kGrassDomain,
        .inputs = kGrassInputs,
        .near = 1,
        .forecast_error = 1,
        .compute = compute_mark4},
    QuantityRow{.key = "hourly_isi",
                .title = "Initial spread index of the hour",
                .unit = "1",
                .lowest = 0,
                .highest = 1000,
                .model = "Canadian index, from the hourly code and the hour's wind",
                .source = kCanadian,
                .equation = "eqs 24-26",
                .inputs = "hourly_ffmc wind_speed",
                .compute = compute_hourly_isi},
    QuantityRow{.key = "hourly_fwi",
                .title = "Fire weather index of the hour",
                .unit = "1",
                .lowest = 0,
                .highest = 1000,
                .model = "Canadian index, from the hour's spread index and the day's build-up",
                .source = kCanadian,
                .equation = "eqs 28-30",
                .inputs = "hourly_isi bui",
                .compute = compute_hourly_fwi},
    QuantityRow{.key = "fosberg_index",
                .title = "Fosberg fire weather index",
                .unit = "1",
                .lowest = 0,
                .highest = 100,
                .model = "Fosberg, by Simard's equilibrium",
                .source = "Fosberg 1978, Proc. Conf. on Sierra Nevada Meteorology, 1-4",
                .equation = "(1 - 2m + 1.5m^2 - 0.5m^3) sqrt(1 + U^2) / 0.3002, m = E/30, U in mi/h",
                .domain = "held to 0-100",
                .inputs = "equilibrium_moisture_simard wind_speed",
                .compute = compute_fosberg},
    QuantityRow{.key = "simple_fire_danger_index",
                .title = "Simple fire danger index",
                .unit = "1",
                .lowest = 0,
                .highest = 1000,
                .model = "wind over the fuel moisture index",
                .source = "Sharples, McRae, Weber & Gill 2009, Environ. Model. Softw. 24, 764-774 [digits from memory]",
                .equation = "F = max(1, V) / FMI",
                .domain = "temperature less humidity under 40",
                .inputs = "fuel_moisture_index wind_speed",
                .compute = compute_simple_index},
    QuantityRow{.key = "gfdi_mark3",
                .title = "Calculated grassland fire danger index, mark 3",
                .unit = "1",
                .lowest = 0,
                .highest = 1000,
                .model = "McArthur mark 3; not the mark in use",
                .source = kNoble,
                .equation = "G = 2 exp(-23.6 + 5.01 ln C + 0.0281 T - 0.226 sqrt H + 0.633 sqrt V)",
                .domain = kGrassDomain,
                .inputs = kGrassInputs,
                .compute = compute_mark3},
    QuantityRow{.key = "gfdi_mark5",
                .title = "Calculated grassland fire danger index, mark 5",
                .unit = "1",
                .lowest = 0,
                .highest = 1000,
                .model = "McArthur mark 5; not the mark in use",
                .source = kNoble,
                .equation = "G = 3.35 W exp(-0.0897 M + 0.0403 V), M < 18.8; 0.299 W exp(-1.686 + 0.0403 V)(30 - M) to 30",
                .domain = kGrassDomain,
                .inputs = kGrassInputs,
                .compute = compute_mark5},
};

}  // namespace

std::span<const QuantityRow> danger_rows() { return kDangerRows; }

}  // namespace hakea::core
