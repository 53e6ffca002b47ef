// Dead fuel moisture.
#include <array>

#include "core/catalogue/derive.h"
#include "core/catalogue/litter_hours.h"
#include "core/catalogue/own_moisture.h"
#include "core/catalogue/recent_rain.h"
#include "core/moisture/grass.h"
#include "core/moisture/heath.h"
#include "core/moisture/litter.h"
#include "core/weather/sun.h"

namespace hakea::core {
namespace {

constexpr char kLitter[] = "litter_moisture", kSheltered[] = "litter_moisture_sheltered";

// What has no memory, or no model for this fuel: a reading stands for its hour.
void put_readings(UnitHours& hours, std::string_view key) {
  if (const Column* entered = readings_of(hours, key))
    for (std::size_t i = 0; i < hours.hours; ++i)
      if (!entered->is_missing(i)) hours[key].set(i, static_cast<double>((*entered)[i]), flag::kReading);
}

void only_read(UnitHours& hours, std::string_view key) {
  fill_missing(hours[key], Reason::no_model);
  put_readings(hours, key);
}

// The row of a fuel's own moisture; for other fuels it is only read.
template <class Compute>
void of_fuel(UnitHours& hours, std::string_view key, MoistureModel model, Compute compute) {
  if (hours.unit->fuel.moisture_model != model) return only_read(hours, key);
  compute(hours[key]);
  put_readings(hours, key);
}

void compute_grass_moisture(UnitHours& hours) {
  of_fuel(hours, "grass_moisture", MoistureModel::grass, [&](Column& out) {
    derive(
        out,
        [](double t, double h, double since_rain) {
          const AirAndHumidity screen{Celsius(t), Percent(h)};
          return HourValue{grass_moisture(screen).value(), in_grass_moisture_domain(screen, Hours(since_rain))};
        },
        hours["air_temperature"], hours["relative_humidity"], hours["hours_since_rain"]);
  });
}

// Sun on level ground; without fed radiation that of a clear sky, dimmed by the cloud where it is known.
Column open_light(const UnitHours& hours) {
  Column light = hours["shortwave_radiation"];
  const Column& sun = hours["solar_elevation"];
  const Column& cloud = hours["cloud_area_fraction"];
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (!light.is_missing(i) || sun.is_missing(i)) continue;
    const Degrees elevation(static_cast<double>(sun[i]));
    const double through = cloud.is_missing(i) ? 1 : share_through_cloud(static_cast<double>(cloud[i]) / 100);
    light.set(i, clear_sky_irradiance(elevation + refraction(elevation)).value() * through, flag::kInterpolated);
  }
  return light;
}
constexpr double kSunny = 500;  // W/m2

template <Percent (*Model)(AirAndHumidity, bool, RecentRain)>
void compute_in_sun_and_rain(UnitHours& hours, std::string_view key, MoistureModel model) {
  of_fuel(hours, key, model, [&](Column& out) {
    const RainOfTwoDays two_days = rain_of_two_days(hours);
    derive(
        out,
        [](double t, double h, double sun, double rain_48h, double since_end) {
          const RecentRain rain{Millimetres(rain_48h), Hours(since_end)};
          return HourValue{Model({Celsius(t), Percent(h)}, sun > kSunny, rain).value()};
        },
        hours["air_temperature"], hours["relative_humidity"], open_light(hours), two_days.amount, two_days.since_end);
  });
}
void compute_heath_moisture(UnitHours& hours) {
  compute_in_sun_and_rain<heath_moisture>(hours, "heath_moisture", MoistureModel::heath);
}
void compute_mallee_heath_moisture(UnitHours& hours) {
  compute_in_sun_and_rain<mallee_heath_moisture>(hours, "mallee_heath_moisture", MoistureModel::mallee_heath);
}

void compute_buttongrass_moisture(UnitHours& hours) {
  of_fuel(hours, "buttongrass_moisture", MoistureModel::buttongrass, [&](Column& out) {
    const RainOfTwoDays two_days = rain_of_two_days(hours);
    derive(
        out,
        [](double h, double dew, double rain_48h, double since_end) {
          return HourValue{buttongrass_moisture(Percent(h), Celsius(dew), {Millimetres(rain_48h), Hours(since_end)}).value()};
        },
        hours["relative_humidity"], hours["dew_point_temperature"], two_days.amount, two_days.since_end);
  });
}

// The moisture of the unit's own fuel; where it is a state, the sheltered column is filled along with it.
void compute_litter_moisture(UnitHours& hours) {
  if (has_litter_state(hours.unit->fuel)) {
    walk_litter(hours, hours[kLitter], hours[kSheltered], hours.first, nullptr);
    return;
  }
  Column& out = hours[kLitter];
  only_read(hours, kLitter);
  const std::string_view key = own_moisture(hours.unit->fuel.moisture_model);
  if (key.empty()) return;
  const Column& own = hours[key];
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (!out.is_missing(i)) continue;  // as read
    if (own.is_missing(i))
      out.set_missing(i, own.why(i));
    else
      out.set(i, static_cast<double>(own[i]), own.flags(i));
  }
}

void compute_litter_moisture_sheltered(UnitHours& hours) {
  if (!hours.unit->fuel.is_forest) return fill_missing(hours[kSheltered], Reason::not_applicable);
  if (!has_litter_state(hours.unit->fuel)) only_read(hours, kSheltered);
}

void compute_litter_moisture_difference(UnitHours& hours) {
  Column& out = hours["litter_moisture_difference"];
  if (!hours.unit->fuel.is_forest) return fill_missing(out, Reason::not_applicable);
  derive(
      out, [](double sheltered, double exposed) { return HourValue{sheltered - exposed}; }, hours[kSheltered], hours[kLitter]);
}

bool is_eucalypt_forest(const Fuel& fuel) { return fuel.is_forest && fuel.moisture_model == MoistureModel::eucalypt_litter; }

void compute_litter_regression(UnitHours& hours) {
  Column& out = hours["litter_moisture_regression"];
  if (!is_eucalypt_forest(hours.unit->fuel)) return fill_missing(out, Reason::not_applicable);
  derive(
      out,
      [](double t, double h, double light, double since_rain, double clock, double sun) {
        const AirAndHumidity screen{Celsius(t), Percent(h)};
        return HourValue{litter_regression(screen, {clock, sun > kSunriseHorizon.value(), light > kSunny}).value(),
                         in_litter_regression_domain(screen, Hours(since_rain))};
      },
      hours["air_temperature"], hours["relative_humidity"], open_light(hours), hours["hours_since_rain"], local_clock(hours),
      hours["solar_elevation"]);
}

void compute_mcarthur_litter(UnitHours& hours) {
  Column& out = hours["mcarthur_litter_moisture"];
  if (!is_eucalypt_forest(hours.unit->fuel)) return fill_missing(out, Reason::not_applicable);
  derive(
      out,
      [](double t, double h, double since_rain) {
        const AirAndHumidity screen{Celsius(t), Percent(h)};
        return HourValue{mcarthur_litter_moisture(screen).value(), in_mcarthur_litter_domain(screen, Hours(since_rain))};
      },
      hours["air_temperature"], hours["relative_humidity"], hours["hours_since_rain"]);
}

constexpr std::string_view kLitterModel = "hourly time lag with rain wetting, sun through the canopy";
constexpr std::string_view kLitterSource =
    "Mandel et al. 2014, NHESS 14, 2829-2845; Van Wagner 1972; Byram & Jemison 1943; Viney 1991";
constexpr std::string_view kLitterInputs =
    "air_temperature relative_humidity precipitation_amount in_forest_wind_speed wind_speed shortwave_radiation "
    "cloud_area_fraction solar_elevation slope_deg aspect_deg fuel initial_state grass_moisture heath_moisture "
    "mallee_heath_moisture buttongrass_moisture";
constexpr std::string_view kShelteredInputs =
    "litter_moisture air_temperature relative_humidity precipitation_amount shortwave_radiation cloud_area_fraction "
    "solar_elevation slope_deg fuel initial_state";
constexpr std::string_view kSunAndRainInputs =
    "air_temperature relative_humidity shortwave_radiation solar_elevation cloud_area_fraction precipitation_amount "
    "hours_since_rain "
    "initial_state";

// What all rows of moisture have in common.
constexpr QuantityRow fuel_moisture_row(QuantityRow row) {
  row.highest = 250;
  row.near = row.forecast_error = 1;
  return row;
}

constexpr std::array kMoistureRows{
    fuel_moisture_row({.key = "grass_moisture",
                       .title = "Grass moisture",
                       .unit = "%",
                       .nature = Nature::state,
                       .model = "linear in temperature and humidity of the hour",
                       .source = "Cheney, Gould & Knight 1989, after McArthur 1966 [from memory]",
                       .equation = "M = 9.58 - 0.205 T + 0.138 H",
                       .domain = "dead grass; 10-45 degC, humidity 5-80 %, twelve hours after rain",
                       .inputs = "air_temperature relative_humidity hours_since_rain",
                       .status = Status::provisional,
                       .compute = compute_grass_moisture}),
    fuel_moisture_row(
        {.key = "heath_moisture",
         .title = "Heath moisture",
         .unit = "%",
         .nature = Nature::state,
         .model = "linear in temperature and humidity of the hour, with sun and the rain of two days",
         .source = "Cruz et al. 2010, A.10.01; Anderson et al. 2015, IJWF 24, 443-460; Marsden-Smedley & Catchpole 2001",
         .equation = "M = 4.37 + 0.161 H - 0.1 (T-25) - 0.027 H [sun] + 67.128 (1-exp(-3.132 r)) exp(-0.0858 t)",
         .domain = "dead elevated fuel of heath",
         .inputs = kSunAndRainInputs,
         .compute = compute_heath_moisture}),
    fuel_moisture_row(
        {.key = "mallee_heath_moisture",
         .title = "Mallee-heath moisture",
         .unit = "%",
         .nature = Nature::state,
         .model = "linear in temperature and humidity of the hour, with sun and the rain of two days",
         .source = "Cruz et al. 2015, in one of two lines that circulate; Marsden-Smedley & Catchpole 2001 for the rain",
         .equation = "M = 4.79 + 0.173 H - 0.1 (T-25) - 0.027 H [sun] + 67.128 (1-exp(-3.132 r)) exp(-0.0858 t)",
         .domain = "dead elevated fuel of mallee; the lines differ by 1-4 points",
         .inputs = kSunAndRainInputs,
         .status = Status::provisional,
         .compute = compute_mallee_heath_moisture}),
    fuel_moisture_row({.key = "buttongrass_moisture",
                       .title = "Buttongrass moisture",
                       .unit = "%",
                       .nature = Nature::state,
                       .model = "exponential in humidity and dew point of the hour, with the rain of two days",
                       .source = "Marsden-Smedley & Catchpole 2001, IJWF 10, 241-253; Marsden-Smedley et al. 1999, Tasforests 11",
                       .equation = "M = exp(1.660 + 0.0214 H - 0.0292 Td) + 67.128 (1-exp(-3.132 r)) exp(-0.0858 t)",
                       .domain = "dead fuel of buttongrass moorland",
                       .inputs = "relative_humidity dew_point_temperature precipitation_amount hours_since_rain initial_state",
                       .compute = compute_buttongrass_moisture}),
    fuel_moisture_row({.key = "litter_moisture",
                       .title = "Litter moisture",
                       .unit = "%",
                       .nature = Nature::state,
                       .model = kLitterModel,
                       .source = kLitterSource,
                       .domain = "dead fine fuel; no dew",
                       .inputs = kLitterInputs,
                       .compute = compute_litter_moisture}),
    fuel_moisture_row({.key = "litter_moisture_sheltered",
                       .title = "Litter moisture, sheltered from the sun",
                       .unit = "%",
                       .nature = Nature::state,
                       .model = kLitterModel,
                       .source = kLitterSource,
                       .domain = "dead fine fuel in forests; no dew",
                       .inputs = kShelteredInputs,
                       .compute = compute_litter_moisture_sheltered}),
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
    fuel_moisture_row({.key = "litter_moisture_regression",
                       .title = "Litter moisture without memory, for comparison",
                       .unit = "%",
                       .model = "lines for sunny afternoon, other daylight and night, blended round noon",
                       .source = "Gould et al. 2007, Project Vesta; Matthews, Gould & McCaw 2010, IJWF 19, 459-467",
                       .equation = "2.76 + 0.124 H - 0.0187 T; 3.60 + 0.169 H - 0.0450 T; 3.08 + 0.198 H - 0.0483 T",
                       .domain = "dry eucalypt litter; 10-40 degC, humidity 10-80 %, two days after rain",
                       .inputs = kSunAndRainInputs,
                       .compute = compute_litter_regression}),
    fuel_moisture_row(
        {.key = "mcarthur_litter_moisture",
         .title = "Litter moisture by McArthur's meter, for comparison",
         .unit = "%",
         .model = "regression through the meter of 1967",
         .source = "Viney 1991, IJWF 1, 215-234; transcriptions differ by 0.02 points",
         .equation = "M = 5.658 + 0.04651 H + 3.151e-4 H^3/T - 0.184 T^0.77",
         .domain = "dry eucalypt litter, afternoons of dry spells; from 10 degC, humidity 5-70 %, two days after rain",
         .inputs = "air_temperature relative_humidity hours_since_rain",
         .status = Status::provisional,
         .compute = compute_mcarthur_litter}),
};

}  // namespace

std::span<const QuantityRow> moisture_rows() { return kMoistureRows; }

std::string_view own_moisture(MoistureModel model) {
  switch (model) {
    case MoistureModel::grass: return "grass_moisture";
    case MoistureModel::heath: return "heath_moisture";
    case MoistureModel::mallee_heath: return "mallee_heath_moisture";
    case MoistureModel::buttongrass: return "buttongrass_moisture";
    case MoistureModel::none:
    case MoistureModel::eucalypt_litter:
    case MoistureModel::time_lag: break;
  }
  return "";
}

}  // namespace hakea::core
