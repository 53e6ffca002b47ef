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
      out.set(i, dew_point(AirAndHumidity{Celsius(static_cast<double>(air[i])), Percent(static_cast<double>(rh[i]))}).value(), inherited(flags));
    } else if (!out.is_missing(i)) {
      if (!air.is_missing(i) && out[i] > air[i]) out.set(i, static_cast<double>(air[i]), out.flags(i));
    } else {
      out.set_missing(i, air.is_missing(i) ? air.why(i) : rh.why(i));
    }
  }
}

void compute_vapour_pressure_deficit(UnitHours& hours) {
  derive(hours["vapour_pressure_deficit"],
         [](double t, double rh) { return HourValue{vapour_pressure_deficit({Celsius(t), Percent(rh)}).value()}; },
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
      out.set_missing(i, Reason::gap);   // the record does not reach back two hours
      continue;
    }
    Reason why = Reason::none;
    std::uint8_t flags = speed.flags(i);
    for (std::size_t k = i - 2; k <= i; ++k) {
      if (from.is_missing(k)) why = from.why(k);
      flags = static_cast<std::uint8_t>(flags | from.flags(k));
    }
    const auto at = [&](std::size_t k) { return Degrees(static_cast<double>(from[k])); };
    if (why == Reason::none) out.set(i, largest_turn(at(i), at(i - 1), at(i - 2)).value(), inherited(flags));
    else out.set_missing(i, why);
  }
}

void compute_in_forest_wind_speed(UnitHours& hours) {
  Column& out = hours["in_forest_wind_speed"];
  const double reduction = hours.unit->fuel.wind_reduction;
  if (reduction > 0) {
    derive(out, [reduction](double v) { return HourValue{v / reduction}; }, hours["wind_speed"]);
  } else if (hours.unit->fuel.is_forest) {
    derive(out, [](double v) { return HourValue{wind_in_regrowth_forest(KilometresPerHour(v)).value()}; }, hours["wind_speed"]);
  } else {
    fill_missing(out, Reason::no_parameter);
  }
}

void compute_solar_elevation(UnitHours& hours) {
  Column& out = hours["solar_elevation"];
  SunTrack track(hours.unit->site.latitude_deg, hours.unit->site.longitude_deg);
  for (std::size_t i = 0; i < hours.hours; ++i) out.set(i, track.at((hours.first + static_cast<int>(i)).start()).elevation.value());
}

using enum Origin;
using enum Nature;
constexpr auto firm = Status::firm;
constexpr std::string_view kFed = "as the feed gives it";
constexpr std::string_view kBolton = "Bolton 1980, Mon. Wea. Rev. 108, 1046-1053";

constexpr std::array kRows{
    QuantityRow{"air_temperature", "Air temperature", "Cel", -60, 60, "air_temperature", feed, instant, kFed, "", "", "", "", 2, false, 2, firm, false, nullptr},
    QuantityRow{"relative_humidity", "Relative humidity", "%", 0, 100, "relative_humidity", feed, instant, "over water, from the dew point where not fed", kBolton,
                "eq. 10", "-30 to 50 degC", "air_temperature dew_point_temperature", 5, false, 10, firm, false, compute_relative_humidity},
    QuantityRow{"dew_point_temperature", "Dew point", "Cel", -80, 40, "dew_point_temperature", feed, instant, "from the humidity where not fed", kBolton, "eq. 10 inverted",
                "-30 to 50 degC, humidity above 0", "air_temperature relative_humidity", 2, false, 2, firm, false, compute_dew_point},
    QuantityRow{"vapour_pressure_deficit", "Vapour pressure deficit", "hPa", 0, 150, "water_vapor_saturation_deficit_in_air", derived, instant, "Bolton", kBolton, "eq. 10",
                "-30 to 50 degC", "air_temperature relative_humidity", 0, false, 0, firm, false, compute_vapour_pressure_deficit},
    QuantityRow{"wind_speed", "Wind speed at 10 m in the open", "km/h", 0, 250, "wind_speed", feed, instant, kFed, "", "", "", "", 3, false, 3, firm, false, nullptr},
    QuantityRow{"wind_from_direction", "Wind direction (from)", "deg", 0, 360, "wind_from_direction", feed, instant, kFed, "", "", "", "", 15, false, 15, firm, true, nullptr},
    QuantityRow{"wind_gust", "Wind gust", "km/h", 0, 300, "wind_speed_of_gust", feed, extreme, kFed, "", "", "", "", 3, false, 3, firm, false, nullptr},
    QuantityRow{"wind_shift", "Wind shift within two hours", "deg", 0, 180, "", derived, instant, "largest turn", "common practice, no source",
                "largest turn between this hour and either of the two before; 0 in wind under 15 km/h", "", "wind_speed wind_from_direction", 15, false, 15, firm, false,
                compute_wind_shift},
    QuantityRow{"precipitation_amount", "Rain of the hour", "mm", 0, 300, "precipitation_amount", feed, amount, kFed, "", "", "", "", 1, false, 1, firm, false, nullptr},
    QuantityRow{"shortwave_radiation", "Solar radiation on level ground", "W/m2", 0, 1500, "surface_downwelling_shortwave_flux_in_air", feed, instant, kFed, "", "", "", "", 0,
                false, 0, firm, false, nullptr},
    QuantityRow{"cloud_area_fraction", "Cloud cover", "%", 0, 100, "cloud_area_fraction", feed, instant, kFed, "", "", "", "", 0, false, 0, firm, false, nullptr},
    QuantityRow{"surface_pressure", "Pressure at the ground", "hPa", 450, 1100, "surface_air_pressure", feed, instant, kFed, "", "", "", "", 0, false, 0, firm, false, nullptr},
    QuantityRow{"in_forest_wind_speed", "Wind in the forest at 1.5 m", "km/h", 0, 100, "", derived, instant, "the unit's reduction, else regrowth eucalypt forest",
                "McArthur 1962 Leaflet 80; Gould 1994, Aust. For. 57, 86-93", "U = 1.674 + 0.179 U10", "eucalypt forest", "wind_speed fuel.wind_reduction", 3, false, 3, firm,
                false, compute_in_forest_wind_speed},
    QuantityRow{"solar_elevation", "Elevation of the sun", "deg", -90, 90, "solar_elevation_angle", derived, instant, "Meeus, low precision, no refraction",
                "Meeus, Astronomical Algorithms; checked by Reda & Andreas 2004", "", "2000-2050, within 0.02 degrees", "", 0, false, 0, firm, false, compute_solar_elevation},
};

}  // namespace

std::span<const QuantityRow> weather_rows() { return kRows; }

}  // namespace hakea::core
