// Dead fuel moisture.
#include <array>

#include "core/catalogue/derive.h"
#include "core/catalogue/litter_hours.h"

namespace hakea::core {
namespace {

template <const char* Key>
void only_read(UnitHours& hours) {
  Column& out = hours[Key];
  fill_missing(out, Reason::no_model);
  if (const Column* entered = readings_of(hours, Key))
    for (std::size_t i = 0; i < hours.hours; ++i)
      if (!entered->is_missing(i)) out.set(i, static_cast<double>((*entered)[i]), flag::kReading);
}
constexpr char kGrass[] = "grass_moisture", kHeath[] = "heath_moisture", kTenHour[] = "dead_fuel_moisture_10h",
               kHundredHour[] = "dead_fuel_moisture_100h", kLitter[] = "litter_moisture",
               kSheltered[] = "litter_moisture_sheltered";

// The moisture of the unit's own fuel; for a forest the sheltered column is filled along with it.
void compute_litter_moisture(UnitHours& hours) {
  const MoistureModel model = hours.unit->fuel.moisture_model;
  if (model == MoistureModel::eucalypt_litter) {
    walk_litter(hours, hours[kLitter], hours[kSheltered], hours.first, nullptr);
    return;
  }
  Column& out = hours[kLitter];
  only_read<kLitter>(hours);
  if (model != MoistureModel::grass && model != MoistureModel::heath) return;
  const Column& own = hours[model == MoistureModel::grass ? kGrass : kHeath];
  for (std::size_t i = 0; i < hours.hours; ++i)
    if (out.is_missing(i) && !own.is_missing(i)) out.set(i, static_cast<double>(own[i]), own.flags(i));
}

void compute_litter_moisture_sheltered(UnitHours& hours) {
  if (!hours.unit->fuel.is_forest) return fill_missing(hours[kSheltered], Reason::not_applicable);
  if (hours.unit->fuel.moisture_model != MoistureModel::eucalypt_litter) only_read<kSheltered>(hours);
}

void compute_litter_moisture_difference(UnitHours& hours) {
  Column& out = hours["litter_moisture_difference"];
  if (!hours.unit->fuel.is_forest) return fill_missing(out, Reason::not_applicable);
  derive(
      out, [](double sheltered, double exposed) { return HourValue{sheltered - exposed}; }, hours[kSheltered], hours[kLitter]);
}

using enum Origin;
using enum Nature;
constexpr auto firm = Status::firm;
constexpr std::string_view kNoModel = "given as a reading; no model yet";
constexpr std::string_view kLitterModel = "hourly time lag with rain wetting, sun through the canopy";
constexpr std::string_view kLitterSource =
    "Mandel et al. 2014, NHESS 14, 2829-2845; Van Wagner 1972; Byram & Jemison 1943; Viney 1991";
constexpr std::string_view kLitterInputs =
    "air_temperature relative_humidity precipitation_amount in_forest_wind_speed shortwave_radiation cloud_area_fraction "
    "solar_elevation slope_deg aspect_deg fuel initial_state grass_moisture heath_moisture";
constexpr std::string_view kShelteredInputs =
    "litter_moisture air_temperature relative_humidity precipitation_amount shortwave_radiation cloud_area_fraction "
    "solar_elevation slope_deg fuel initial_state";

constexpr QuantityRow only_reading(std::string_view key, std::string_view title, void (*compute)(UnitHours&)) {
  return {key, title, "%", 0, 250, "", derived, state, kNoModel, "as read", "", "", "", 1, false, 1, firm, false, compute};
}

constexpr std::array kRows{
    only_reading("grass_moisture", "Grass moisture", only_read<kGrass>),
    only_reading("heath_moisture", "Heath moisture", only_read<kHeath>),
    only_reading("dead_fuel_moisture_10h", "Ten-hour dead fuel moisture", only_read<kTenHour>),
    only_reading("dead_fuel_moisture_100h", "Hundred-hour dead fuel moisture", only_read<kHundredHour>),
    QuantityRow{.key = "litter_moisture",
                .title = "Litter moisture",
                .unit = "%",
                .lowest = 0,
                .highest = 250,
                .nature = state,
                .model = kLitterModel,
                .source = kLitterSource,
                .domain = "dead fine fuel; no dew",
                .inputs = kLitterInputs,
                .near = 1,
                .forecast_error = 1,
                .compute = compute_litter_moisture},
    QuantityRow{.key = "litter_moisture_sheltered",
                .title = "Litter moisture, sheltered from the sun",
                .unit = "%",
                .lowest = 0,
                .highest = 250,
                .nature = state,
                .model = kLitterModel,
                .source = kLitterSource,
                .domain = "dead fine fuel in forests; no dew",
                .inputs = kShelteredInputs,
                .near = 1,
                .forecast_error = 1,
                .compute = compute_litter_moisture_sheltered},
    QuantityRow{.key = "litter_moisture_difference",
                .title = "Litter moisture, sheltered less exposed",
                .unit = "%",
                .lowest = -250,
                .highest = 250,
                .model = "difference",
                .source = "as the two it is made of",
                .domain = "forests",
                .inputs = "litter_moisture_sheltered litter_moisture",
                .near = 1,
                .forecast_error = 1,
                .compute = compute_litter_moisture_difference},
};

}  // namespace

std::span<const QuantityRow> moisture_rows() { return kRows; }

}  // namespace hakea::core
