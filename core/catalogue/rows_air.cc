// Mixing, transport, ventilation.
#include <array>
#include <cstdint>

#include "core/air/transport.h"
#include "core/catalogue/catalogue.h"

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

void no_model(UnitHours& hours) {
  Column& out = hours["stability_class"];
  for (std::size_t i = 0; i < hours.hours; ++i) out.set_missing(i, Reason::no_model);
}

// Rows without a function are filled beforehand, hour by hour as the levels of a run arrive: profiles are not stored.
constexpr std::array<QuantityRow, 7> kRows{{
    {.key = "mixing_height",
     .title = "Mixing height above the unit",
     .unit = "m",
     .lowest = -2000,
     .highest = 9000,
     .standard_name = "atmosphere_boundary_layer_thickness",
     .model = "the feed's own; by day over heated ground the parcel method; else bulk Richardson number; by night below the "
              "lowest level mechanical",
     .source = "Holzworth 1964, Mon. Wea. Rev. 92, 235-242; Seibert et al. 2000, Atmos. Environ. 34, 1001-1027; Venkatram 1980, "
               "Bound.-Layer Meteor. 19, 481-485",
     .equation =
         "lowest z with theta_v(z) >= theta_v(2 m); Ri_b(z) = 0.25; 2300 u*^1.5; plus model elevation minus unit elevation",
     .domain = "at least four levels below 3 km above the ground; zero or less: the unit stands above the mixed layer",
     .inputs = "air_temperature dew_point_temperature surface_pressure wind_speed wind_from_direction cloud_area_fraction "
               "solar_elevation elevation_m",
     .near = 100,
     .forecast_error = 100},
    {.key = "transport_wind_speed",
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
    {.key = "transport_wind_from_direction",
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
    {.key = "ventilation_index",
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
    {.key = "stability_class",
     .title = "Stability class (1 = A to 6 = F)",
     .unit = "1",
     .lowest = 1,
     .highest = 6,
     .model = "none yet",
     .source = "EPA-454/R-99-005 section 6.4",
     .status = Status::provisional,
     .compute = no_model},
    {.key = "inversion_strength",
     .title = "Strength of the inversion on the ground",
     .unit = "Cel",
     .lowest = 0,
     .highest = 40,
     .model = "warming from 2 m up, from the levels",
     .source = "common practice, no source",
     .equation = "T(top) - T(2 m); 0 where it is less than 1 K",
     .domain = "needs levels",
     .inputs = "air_temperature surface_pressure level_temperature level_height level_relative_humidity"},
    {.key = "inversion_top",
     .title = "Top of the inversion on the ground",
     .unit = "m",
     .lowest = 0,
     .highest = 5000,
     .model = "last warm level of the contiguous warming from 2 m up",
     .source = "common practice, no source",
     .equation = "height above the model's ground; 0 without an inversion",
     .domain = "needs levels",
     .inputs = "air_temperature surface_pressure level_temperature level_height level_relative_humidity"},
}};

}  // namespace

std::span<const QuantityRow> air_rows() { return kRows; }

}  // namespace hakea::core
