// Dead fuel moisture.
#include <array>

#include "core/catalogue/derive.h"
#include "core/catalogue/litter_hours.h"
#include "core/moisture/grass.h"
#include "core/moisture/heath.h"
#include "core/weather/sun.h"

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

// The air's own moisture of grass and heath has no memory; a reading stands for its hour.
void put_readings(UnitHours& hours, std::string_view key) {
  if (const Column* entered = readings_of(hours, key))
    for (std::size_t i = 0; i < hours.hours; ++i)
      if (!entered->is_missing(i)) hours[key].set(i, static_cast<double>((*entered)[i]), flag::kReading);
}

void compute_grass_moisture(UnitHours& hours) {
  if (hours.unit->fuel.moisture_model != MoistureModel::grass) return only_read<kGrass>(hours);
  derive(
      hours[kGrass],
      [](double t, double h, double since_rain) {
        const AirAndHumidity screen{Celsius(t), Percent(h)};
        return HourValue{grass_moisture(screen).value(), in_grass_moisture_domain(screen, Hours(since_rain))};
      },
      hours["air_temperature"], hours["relative_humidity"], hours["hours_since_rain"]);
  put_readings(hours, kGrass);
}

// Rain of the 48 hours before each hour; hours before the record count as dry where it is known that they were, otherwise
// the sum is spin-up.
Column rain_of_two_days(const UnitHours& hours) {
  constexpr std::size_t kHours = 48;
  const Column& rain = hours["precipitation_amount"];
  const Column& since = hours["hours_since_rain"];
  const bool known_before = hours.hours > 0 && !since.is_missing(0) && since[0] >= static_cast<float>(kHours);
  Column out(hours.hours, Reason::gap);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    double sum = 0;
    Reason why = Reason::none;
    for (std::size_t k = i < kHours ? 0 : i - kHours; k < i; ++k) {
      if (rain.is_missing(k)) why = rain.why(k);
      sum += static_cast<double>(rain[k]);
    }
    if (why != Reason::none)
      out.set_missing(i, why);
    else
      out.set(i, sum, i < kHours && !known_before ? flag::kSpinUp : std::uint8_t{0});
  }
  return out;
}

void compute_heath_moisture(UnitHours& hours) {
  if (hours.unit->fuel.moisture_model != MoistureModel::heath) return only_read<kHeath>(hours);
  constexpr double kSunny = 500;  // W/m2
  Column light = hours["shortwave_radiation"];
  for (std::size_t i = 0; i < hours.hours; ++i)  // without radiation, as if the sky were clear
    if (const Column& sun = hours["solar_elevation"]; light.is_missing(i) && !sun.is_missing(i))
      light.set(i, clear_sky_irradiance(Degrees(static_cast<double>(sun[i]))).value(), flag::kInterpolated);
  derive(
      hours[kHeath],
      [](double t, double h, double sun, double since_rain, double rain_48h) {
        const RecentRain rain{Millimetres(rain_48h), Hours(since_rain)};
        return HourValue{heath_moisture({Celsius(t), Percent(h)}, sun > kSunny, rain).value()};
      },
      hours["air_temperature"], hours["relative_humidity"], light, hours["hours_since_rain"], rain_of_two_days(hours));
  put_readings(hours, kHeath);
}

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
    QuantityRow{.key = "grass_moisture",
                .title = "Grass moisture",
                .unit = "%",
                .lowest = 0,
                .highest = 250,
                .nature = state,
                .model = "linear in temperature and humidity of the hour",
                .source = "Cheney, Gould & Knight 1989, after McArthur 1966 [from memory]",
                .equation = "M = 9.58 - 0.205 T + 0.138 H",
                .domain = "dead grass; 10-45 degC, humidity 5-80 %, twelve hours after rain",
                .inputs = "air_temperature relative_humidity hours_since_rain",
                .near = 1,
                .forecast_error = 1,
                .status = Status::provisional,
                .compute = compute_grass_moisture},
    QuantityRow{
        .key = "heath_moisture",
        .title = "Heath moisture",
        .unit = "%",
        .lowest = 0,
        .highest = 250,
        .nature = state,
        .model = "linear in temperature and humidity of the hour, with sun and the rain of two days",
        .source = "Cruz et al. 2010, A.10.01; Anderson et al. 2015, IJWF 24, 443-460; Marsden-Smedley & Catchpole 2001",
        .equation = "M = 4.37 + 0.161 H - 0.1 (T-25) - 0.027 H [sun] + 67.128 (1-exp(-3.132 r)) exp(-0.0858 t)",
        .domain = "dead elevated fuel of heath",
        .inputs = "air_temperature relative_humidity shortwave_radiation solar_elevation precipitation_amount hours_since_rain",
        .near = 1,
        .forecast_error = 1,
        .compute = compute_heath_moisture},
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
