// Weather: what feeds give, and what follows from it at once.
#include <array>

#include "core/catalogue/derive.h"
#include "core/fire/spread_control_burning.h"
#include "core/weather/humidity.h"
#include "core/weather/sun.h"
#include "core/weather/wind.h"

namespace hakea::core {
namespace {

// Humidity and dew point say the same with the temperature. A reading of either comes before what the feed says of both;
// otherwise each is kept where the feed gives it, held to 100 %, and computed from the other where it does not.
void compute_relative_humidity(UnitHours& hours) {
  const Column& air = hours["air_temperature"];
  const Column& dew = hours["dew_point_temperature"];
  const Column* dew_readings = readings_of(hours, "dew_point_temperature");
  const Column* air_readings = readings_of(hours, "air_temperature");
  Column& out = hours["relative_humidity"];
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const bool dew_is_read = dew_readings && !dew_readings->is_missing(i);
    const bool air_is_read = air_readings && !air_readings->is_missing(i);
    const bool has_dew = dew_is_read || !dew.is_missing(i);
    if (has_dew && !air.is_missing(i) && (out.is_missing(i) || dew_is_read || air_is_read)) {
      const Celsius point(static_cast<double>(dew_is_read ? (*dew_readings)[i] : dew[i]));
      const auto flags = static_cast<std::uint8_t>(air.flags(i) | (dew_is_read ? 0 : dew.flags(i)));
      out.set(i, relative_humidity({Celsius(static_cast<double>(air[i])), point}).value(), inherited(flags));
    } else if (!out.is_missing(i)) {
      const double fed = static_cast<double>(out[i]);
      if (fed < 0 || fed > 100) out.set(i, plausible_humidity(Percent(fed)).value(), out.flags(i));
    } else {
      out.set_missing(i, has_dew ? air.why(i) : out.why(i));
    }
  }
}

void compute_dew_point(UnitHours& hours) {
  const Column& air = hours["air_temperature"];
  const Column& rh = hours["relative_humidity"];
  Column& out = hours["dew_point_temperature"];
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const bool humidity_is_read = (rh.flags(i) & flag::kReading) != 0;
    if ((out.is_missing(i) || humidity_is_read) && !air.is_missing(i) && !rh.is_missing(i)) {
      const auto flags = static_cast<std::uint8_t>(air.flags(i) | rh.flags(i));
      out.set(i, dew_point(AirAndHumidity{Celsius(static_cast<double>(air[i])), Percent(static_cast<double>(rh[i]))}).value(),
              inherited(flags));
    } else if (!out.is_missing(i)) {
      if (!air.is_missing(i) && out[i] > air[i]) out.set(i, static_cast<double>(air[i]), out.flags(i));
    } else {
      out.set_missing(i, air.is_missing(i) ? air.why(i) : rh.why(i));
    }
  }
}

void compute_vapour_pressure_deficit(UnitHours& hours) {
  derive(
      hours["vapour_pressure_deficit"],
      [](double t, double rh) {
        return HourValue{vapour_pressure_deficit({Celsius(t), Percent(rh)}).value()};
      },
      hours["air_temperature"], hours["relative_humidity"]);
}

constexpr float kWindThatTurns = 15;  // km/h

void compute_wind_shift(UnitHours& hours) {
  const Column& speed = hours["wind_speed"];
  const Column& from = hours["wind_from_direction"];
  Column& out = hours["wind_shift"];
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (speed.is_missing(i)) {
      out.set_missing(i, speed.why(i));
      continue;
    }
    if (speed[i] < kWindThatTurns) {
      out.set(i, 0, inherited(speed.flags(i)));
      continue;
    }
    if (i < 2) {
      out.set_missing(i, Reason::gap);  // the record does not reach back two hours
      continue;
    }
    Reason why = Reason::none;
    std::uint8_t flags = speed.flags(i);
    for (std::size_t k = i - 2; k <= i; ++k) {
      if (from.is_missing(k)) why = from.why(k);
      flags = static_cast<std::uint8_t>(flags | from.flags(k));
    }
    const auto at = [&](std::size_t k) { return Degrees(static_cast<double>(from[k])); };
    if (why == Reason::none)
      out.set(i, largest_turn(at(i), at(i - 1), at(i - 2)).value(), inherited(flags));
    else
      out.set_missing(i, why);
  }
}

void compute_in_forest_wind_speed(UnitHours& hours) {
  Column& out = hours["in_forest_wind_speed"];
  const double reduction = hours.unit->fuel.wind_reduction;
  if (reduction > 0) {
    derive(
        out, [reduction](double v) { return HourValue{v / reduction}; }, hours["wind_speed"]);
  } else if (hours.unit->fuel.is_forest) {
    derive(
        out, [](double v) { return HourValue{wind_in_regrowth_forest(KilometresPerHour(v)).value()}; }, hours["wind_speed"]);
  } else {
    fill_missing(out, Reason::no_parameter);
  }
}

void compute_solar_elevation(UnitHours& hours) {
  Column& out = hours["solar_elevation"];
  SunTrack track(hours.unit->site.latitude_deg, hours.unit->site.longitude_deg);
  for (std::size_t i = 0; i < hours.hours; ++i)
    out.set(i, track.elevation_at((hours.first + static_cast<int>(i)).start()).value());
}

constexpr std::string_view kFed = "as the feed gives it";
constexpr std::string_view kGiven = "the feed, the weather table or a reading";
constexpr std::string_view kBolton = "Bolton 1980, Mon. Wea. Rev. 108, 1046-1053";

constexpr std::array kWeatherRows{
    QuantityRow{.key = "air_temperature",
                .title = "Air temperature",
                .unit = "Cel",
                .lowest = -60,
                .highest = 60,
                .standard_name = "air_temperature",
                .origin = Origin::feed,
                .model = kFed,
                .source = kGiven,
                .near = 2,
                .forecast_error = 2,
                .compute = nullptr},
    QuantityRow{.key = "relative_humidity",
                .title = "Relative humidity",
                .unit = "%",
                .lowest = 0,
                .highest = 100,
                .standard_name = "relative_humidity",
                .origin = Origin::feed,
                .model = "over water, from the dew point where not fed",
                .source = kBolton,
                .equation = "eq. 10",
                .domain = "-30 to 50 degC",
                .inputs = "air_temperature",
                .near = 5,
                .forecast_error = 10,
                .compute = compute_relative_humidity},
    QuantityRow{.key = "dew_point_temperature",
                .title = "Dew point",
                .unit = "Cel",
                .lowest = -80,
                .highest = 40,
                .standard_name = "dew_point_temperature",
                .origin = Origin::feed,
                .model = "from the humidity where not fed",
                .source = kBolton,
                .equation = "eq. 10 inverted",
                .domain = "-30 to 50 degC, humidity above 0",
                .inputs = "air_temperature relative_humidity",
                .near = 2,
                .forecast_error = 2,
                .compute = compute_dew_point},
    QuantityRow{.key = "vapour_pressure_deficit",
                .title = "Vapour pressure deficit",
                .unit = "hPa",
                .lowest = 0,
                .highest = 150,
                .standard_name = "water_vapor_saturation_deficit_in_air",
                .model = "Bolton",
                .source = kBolton,
                .equation = "eq. 10",
                .domain = "-30 to 50 degC",
                .inputs = "air_temperature relative_humidity",
                .compute = compute_vapour_pressure_deficit},
    QuantityRow{.key = "wind_speed",
                .title = "Wind speed at 10 m in the open",
                .unit = "km/h",
                .lowest = 0,
                .highest = 250,
                .standard_name = "wind_speed",
                .origin = Origin::feed,
                .model = kFed,
                .source = kGiven,
                .near = 3,
                .forecast_error = 3,
                .compute = nullptr},
    QuantityRow{.key = "wind_from_direction",
                .title = "Wind direction (from)",
                .unit = "deg",
                .lowest = 0,
                .highest = 360,
                .standard_name = "wind_from_direction",
                .origin = Origin::feed,
                .model = kFed,
                .source = kGiven,
                .near = 15,
                .forecast_error = 15,
                .is_direction = true,
                .compute = nullptr},
    QuantityRow{.key = "wind_gust",
                .title = "Wind gust",
                .unit = "km/h",
                .lowest = 0,
                .highest = 300,
                .standard_name = "wind_speed_of_gust",
                .origin = Origin::feed,
                .nature = Nature::extreme,
                .model = kFed,
                .source = kGiven,
                .near = 3,
                .forecast_error = 3,
                .compute = nullptr},
    QuantityRow{.key = "wind_shift",
                .title = "Wind shift within two hours",
                .unit = "deg",
                .lowest = 0,
                .highest = 180,
                .model = "largest turn",
                .source = "common practice, no source",
                .equation = "largest turn between this hour and either of the two before; 0 in wind under 15 km/h",
                .inputs = "wind_speed wind_from_direction",
                .near = 15,
                .forecast_error = 15,
                .compute = compute_wind_shift},
    QuantityRow{.key = "precipitation_amount",
                .title = "Rain of the hour",
                .unit = "mm",
                .lowest = 0,
                .highest = 300,
                .standard_name = "precipitation_amount",
                .origin = Origin::feed,
                .nature = Nature::amount,
                .model = kFed,
                .source = kGiven,
                .near = 1,
                .forecast_error = 1,
                .compute = nullptr},
    QuantityRow{.key = "shortwave_radiation",
                .title = "Solar radiation on level ground",
                .unit = "W/m2",
                .lowest = 0,
                .highest = 1500,
                .standard_name = "surface_downwelling_shortwave_flux_in_air",
                .origin = Origin::feed,
                .model = kFed,
                .source = kGiven,
                .compute = nullptr},
    QuantityRow{.key = "cloud_area_fraction",
                .title = "Cloud cover",
                .unit = "%",
                .lowest = 0,
                .highest = 100,
                .standard_name = "cloud_area_fraction",
                .origin = Origin::feed,
                .model = kFed,
                .source = kGiven,
                .compute = nullptr},
    QuantityRow{.key = "surface_pressure",
                .title = "Pressure at the ground",
                .unit = "hPa",
                .lowest = 450,
                .highest = 1100,
                .standard_name = "surface_air_pressure",
                .origin = Origin::feed,
                .model = kFed,
                .source = kGiven,
                .compute = nullptr},
    QuantityRow{.key = "in_forest_wind_speed",
                .title = "Wind in the forest at 1.5 m",
                .unit = "km/h",
                .lowest = 0,
                .highest = 100,
                .model = "the unit's reduction, else regrowth eucalypt forest",
                .source = "McArthur 1962 Leaflet 80; Gould 1994, Aust. For. 57, 86-93",
                .equation = "U = 1.674 + 0.179 U10",
                .domain = "eucalypt forest",
                .inputs = "wind_speed fuel.wind_reduction",
                .near = 3,
                .forecast_error = 3,
                .compute = compute_in_forest_wind_speed},
    QuantityRow{.key = "solar_elevation",
                .title = "Elevation of the sun",
                .unit = "deg",
                .lowest = -90,
                .highest = 90,
                .standard_name = "solar_elevation_angle",
                .model = "Meeus, low precision, no refraction",
                .source = "Meeus, Astronomical Algorithms; checked by Reda & Andreas 2004",
                .domain = "2000-2050, within 0.02 degrees",
                .compute = compute_solar_elevation},
};

}  // namespace

std::span<const QuantityRow> weather_rows() { return kWeatherRows; }

}  // namespace hakea::core
