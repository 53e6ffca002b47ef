// Mixing, transport, ventilation, stability, inversion, and how dry and unstable the air aloft is.
#include <array>
#include <cstdint>

#include "core/air/inversion.h"
#include "core/air/stability.h"
#include "core/air/transport.h"
#include "core/catalogue/derive.h"
#include "core/weather/sun.h"

namespace hakea::core {
namespace {

// What a value inherits from the values it is made of; that one of them was read by somebody does not make it a reading.
constexpr std::uint8_t kInherited = flag::kInterpolated | flag::kOutOfDomain | flag::kSpinUp | flag::kAtLeast;

// Where the levels gave no transport wind, the 10 m wind stands in as soon as there is a mixing height.
void stand_in(UnitHours& hours, std::string_view key, std::string_view surface_key) {
  Column& transport = hours[key];
  const Column& surface = hours[surface_key];
  const Column& mixing = hours["mixing_height"];
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (!transport.is_missing(i)) continue;
    if (mixing.is_missing(i))
      transport.set_missing(i, mixing.why(i));
    else if (surface.is_missing(i))
      transport.set_missing(i, surface.why(i));
    else
      transport.set(i, static_cast<double>(surface[i]), surface.flags(i) & kInherited & ~flag::kAtLeast);
  }
}

void transport_wind_speed(UnitHours& hours) { stand_in(hours, "transport_wind_speed", "wind_speed"); }

void transport_wind_from_direction(UnitHours& hours) { stand_in(hours, "transport_wind_from_direction", "wind_from_direction"); }

void ventilation(UnitHours& hours) {
  const Column& mixing = hours["mixing_height"];
  const Column& wind = hours["transport_wind_speed"];
  Column& out = hours["ventilation_index"];
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (mixing.is_missing(i))
      out.set_missing(i, mixing.why(i));
    else if (wind.is_missing(i))
      out.set_missing(i, wind.why(i));
    else {
      const auto index = ventilation_index(Metres(static_cast<double>(mixing[i])),
                                           to<MetresPerSecond>(KilometresPerHour(static_cast<double>(wind[i]))));
      out.set(i, index.value(), (mixing.flags(i) | wind.flags(i)) & kInherited);
    }
  }
}

void stability_class(UnitHours& hours) {
  const Column& wind = hours["wind_speed"];
  const Column& radiation = hours["shortwave_radiation"];
  const Column& gradient = hours["near_ground_gradient"];
  const Column& cloud = hours["cloud_area_fraction"];
  const Column& sun = hours["solar_elevation"];
  Column& out = hours["stability_class"];
  hours.stability.assign(hours.hours, StabilityMethod::none);
  const Site& site = hours.unit->site;
  SunTrack track(site.latitude_deg, site.longitude_deg);
  const auto is_up = [&](int hour) { return track.elevation_at((hours.first + hour).start()) > kSunriseHorizon; };
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const auto number = [i](const Column& column) { return static_cast<double>(column[i]); };
    const int hour = static_cast<int>(i);
    const bool by_turner = (number(sun) > 0 ? radiation : gradient).is_missing(i);
    const Stability found = stability({.wind = to<MetresPerSecond>(KilometresPerHour(number(wind))),
                                       .radiation = WattsPerSquareMetre(number(radiation)),
                                       .gradient_k_km = number(gradient),
                                       .cloud = Percent(number(cloud)),
                                       .solar_elevation = Degrees(number(sun)),
                                       .is_near_dark = by_turner && !(is_up(hour - 1) && is_up(hour) && is_up(hour + 1))});
    if (found.value == 0) {
      const Column& asked = number(sun) > 0 ? radiation : gradient;
      const Column& lost = wind.is_missing(i) ? wind : sun.is_missing(i) ? sun : cloud.why(i) == Reason::gap ? cloud : asked;
      out.set_missing(i, lost.why(i));
      continue;
    }
    hours.stability[i] = found.method;
    const Column& used = found.method == StabilityMethod::radiation  ? radiation
                         : found.method == StabilityMethod::gradient ? gradient
                                                                     : cloud;
    out.set(i, found.value, inherited(static_cast<std::uint8_t>(wind.flags(i) | used.flags(i))));
  }
}

// Looks only back, so that an hour's value does not wait for later hours.
void hours_since_inversion(UnitHours& hours) {
  constexpr float kPresent = 1;  // K
  const Column& strength = hours["inversion_strength"];
  const Column& breaks_at = hours["inversion_break_temperature"];
  const Column& air = hours["air_temperature"];
  Column& out = hours["hours_since_inversion"];
  const auto celsius = [](const Column& column, std::size_t i) { return Celsius(static_cast<double>(column[i])); };
  double since = 0;
  bool has_broken = false;  // else no inversion is known since the record or the last gap began
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (strength.is_missing(i)) {
      out.set_missing(i, strength.why(i));
      has_broken = false;
      since = 0;
      continue;
    }
    if (strength[i] >= kPresent) {
      has_broken = true;
      since = 0;
    } else {
      const bool breaks = i > 0 && !strength.is_missing(i - 1) && strength[i - 1] >= kPresent;
      since = breaks ? since_break(celsius(breaks_at, i - 1), celsius(air, i - 1), celsius(air, i)).value() : since + 1;
      if (!has_broken && (i == 0 || strength.is_missing(i - 1))) since = 0;
    }
    if (air.is_missing(i))
      out.set_missing(i, air.why(i));
    else
      out.set(i, since,
              static_cast<std::uint8_t>(inherited(static_cast<std::uint8_t>(strength.flags(i) | air.flags(i))) |
                                        (has_broken ? 0 : flag::kAtLeast)));
  }
}

constexpr std::string_view kPractice = "common practice, no source";
constexpr std::string_view kLevelAir = "level_temperature level_height level_relative_humidity";

// Rows without a function are filled beforehand, hour by hour as the levels of a run arrive: profiles are not stored.
constexpr std::array kAirRows{
    QuantityRow{
        .key = "mixing_height",
        .title = "Mixing height above the unit",
        .unit = "m",
        .lowest = -2000,
        .highest = 9000,
        .standard_name = "atmosphere_boundary_layer_thickness",
        .model = "the feed's own; by day over heated ground the parcel method; else bulk Richardson number; by night below the "
                 "lowest level mechanical",
        .source =
            "Holzworth 1964, Mon. Wea. Rev. 92, 235-242; Seibert et al. 2000, Atmos. Environ. 34, 1001-1027; Venkatram 1980, "
            "Bound.-Layer Meteor. 19, 481-485",
        .equation =
            "lowest z with theta_v(z) >= theta_v(2 m); Ri_b(z) = 0.25; 2300 u*^1.5; plus model elevation minus unit elevation",
        .domain = "at least four levels below 3 km above the ground; zero or less: the unit stands above the mixed layer",
        .inputs = "air_temperature dew_point_temperature surface_pressure wind_speed wind_from_direction cloud_area_fraction "
                  "solar_elevation elevation_m",
        .near = 100,
        .forecast_error = 100},
    QuantityRow{.key = "transport_wind_speed",
                .title = "Transport wind speed",
                .unit = "km/h",
                .lowest = 0,
                .highest = 450,
                .model = "mean speed from 10 m to the mixing height; the 10 m wind below 100 m or without levels",
                .source = "common practice, no source",
                .equation = "(1/h) integral of |V| dz, trapezoid",
                .inputs = "mixing_height wind_speed",
                .near = 3,
                .forecast_error = 3,
                .compute = transport_wind_speed},
    QuantityRow{
        .key = "transport_wind_from_direction",
        .title = "Transport wind direction",
        .unit = "deg",
        .lowest = 0,
        .highest = 360,
        .model = "direction of the mean vector from 10 m to the mixing height; the 10 m wind below 100 m or without levels",
        .source = "common practice, no source",
        .equation = "(1/h) integral of V dz, trapezoid",
        .domain = "missing where the vectors cancel",
        .inputs = "mixing_height wind_from_direction",
        .near = 15,
        .forecast_error = 15,
        .is_direction = true,
        .compute = transport_wind_from_direction},
    QuantityRow{.key = "ventilation_index",
                .title = "Ventilation index",
                .unit = "m2/s",
                .lowest = 0,
                .highest = 500000,
                .model = "mixing height times transport wind",
                .source = "A Guide for Smoke Management (2001), as the ventilation index",
                .equation = "VI = h V; 0 where h <= 0",
                .inputs = "mixing_height transport_wind_speed",
                .near = 0.1,
                .near_is_share = true,
                .forecast_error = 0.1,
                .compute = ventilation},
    QuantityRow{.key = "inversion_strength",
                .title = "Strength of the inversion on the ground",
                .unit = "Cel",
                .lowest = 0,
                .highest = 40,
                .model = "warming from 2 m up, from the levels",
                .source = "common practice, no source",
                .equation = "T(top) - T(2 m); 0 where it is less than 1 K",
                .domain = "needs levels",
                .inputs = "air_temperature surface_pressure level_temperature level_height level_relative_humidity"},
    QuantityRow{.key = "inversion_top",
                .title = "Top of the inversion on the ground",
                .unit = "m",
                .lowest = 0,
                .highest = 5000,
                .model = "last warm level of the contiguous warming from 2 m up",
                .source = "common practice, no source",
                .equation = "height above the model's ground; 0 without an inversion",
                .domain = "needs levels",
                .inputs = "air_temperature surface_pressure level_temperature level_height level_relative_humidity"},
    QuantityRow{.key = "inversion_break_temperature",
                .title = "Temperature at which the inversion on the ground breaks",
                .unit = "Cel",
                .lowest = -60,
                .highest = 60,
                .model = "the 2 m air as warm as the top of the inversion when brought down to the ground",
                .source = "Holzworth 1964, Mon. Wea. Rev. 92, 235-242, parcel method",
                .equation = "theta_v(top) (p / 1000 hPa)^(2/7), as a temperature of the air at 2 m",
                .domain = "needs levels; none without an inversion",
                .inputs = kLevelAir},
    QuantityRow{
        .key = "hours_since_inversion",
        .title = "Hours since the inversion on the ground broke",
        .unit = "h",
        .lowest = 0,
        .highest = 100000,
        .model = "from the moment the 2 m temperature passed the break temperature of the last inversion; 0 while one stands",
        .source = kPractice,
        .equation =
            "linear in the hour before the first without an inversion; the hour itself where the temperature was not reached",
        .domain = "at least the length of the record where it has no inversion",
        .inputs = "inversion_strength inversion_break_temperature air_temperature",
        .compute = hours_since_inversion},
    QuantityRow{.key = "near_ground_gradient",
                .title = "Temperature gradient of the lowest layer, warming upwards positive",
                .unit = "K/km",
                .lowest = -500,
                .highest = 1000,
                .model = "from 2 m to the lowest level",
                .source = kPractice,
                .equation = "(T(lowest level) - T(2 m)) / height between them",
                .domain = "needs a level within 250 m of the ground",
                .inputs = kLevelAir},
    QuantityRow{
        .key = "stability_class",
        .title = "Stability class (1 = A to 6 = F)",
        .unit = "1",
        .lowest = 1,
        .highest = 6,
        .model =
            "by day from wind and radiation, by night from wind and the gradient near the ground; without these Turner's, from "
            "wind, sun and cloud, with the more stable class where the cloud base is not known",
        .source = "EPA-454/R-99-005 (2000) section 6.4.2, table 6-7; Turner 1964, J. Appl. Meteor. 3, 83-91",
        .equation = "tables",
        .domain = "hourly means; the published gradient is that from 2 to 10 m",
        .inputs = "wind_speed shortwave_radiation near_ground_gradient cloud_area_fraction solar_elevation",
        .compute = stability_class},
    QuantityRow{.key = "haines_index",
                .title = "Haines index",
                .unit = "1",
                .lowest = 2,
                .highest = 6,
                .model = "low, middle or high form by the height of the model's ground",
                .source = "Haines 1988, Natl. Wea. Dig. 13(2), 23-27",
                .equation = "A + B; 950-850 hPa to 305 m, 850-700 to 914 m, 700-500 above",
                .domain = "both levels above the ground",
                .inputs = "level_temperature level_relative_humidity"},
    QuantityRow{.key = "c_haines",
                .title = "C-Haines",
                .unit = "1",
                .lowest = -10,
                .highest = 20,
                .model = "Mills & McCaw",
                .source = "Mills & McCaw 2010, CAWCR Technical Report 20",
                .equation = "CA = 0.5 (T850 - T700) - 2; CB = min(T850 - Td850, 30) / 3 - 1, over 5 by half",
                .domain = "ground below the 850 hPa level",
                .inputs = "level_temperature level_relative_humidity"},
    QuantityRow{.key = "hot_dry_windy",
                .title = "Hot-dry-windy index",
                .unit = "1",
                .lowest = 0,
                .highest = 5000,
                .model = "strongest wind times largest vapour pressure deficit of the lowest 50 hPa, each where it is",
                .source = "Srock, Charney, Potter & Goodrick 2018, Atmosphere 9, 279 [from memory]",
                .equation = "HDW = max U (m/s) max VPD (hPa)",
                .domain = "at least two levels in the lowest 50 hPa; to be read against the climate of the place",
                .inputs = "level_temperature level_relative_humidity level_eastward_wind level_northward_wind",
                .status = Status::provisional},
};

}  // namespace

std::span<const QuantityRow> air_rows() { return kAirRows; }

}  // namespace hakea::core
