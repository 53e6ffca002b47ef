#include "core/catalogue/smoke_hours.h"

#include "core/catalogue/derive.h"

namespace hakea::core {
namespace {

SmokeFuel smoke_fuel(const Fuel& fuel) {
  switch (fuel.moisture_model) {
    case MoistureModel::grass: return SmokeFuel::grass;
    case MoistureModel::heath:
    case MoistureModel::mallee_heath:
    case MoistureModel::buttongrass: return SmokeFuel::shrubs;
    default: return SmokeFuel::forest;
  }
}

}  // namespace

std::optional<Burn> burn_of(const UnitTraits& unit) {
  if (!(unit.area_ha > 0) || unit.fuel.load.is_missing() || !(unit.lighting.value() > 0)) return std::nullopt;
  return Burn{unit.area_ha, dead_load(unit.fuel), unit.lighting, emission_factors(smoke_fuel(unit.fuel))};
}

SmokeHours::SmokeHours(const UnitHours& hours)
    : wind_(hours["wind_speed"]),
      wind_from_(hours["wind_from_direction"]),
      transport_(hours["transport_wind_speed"]),
      transport_from_(hours["transport_wind_from_direction"]),
      mixing_(hours["mixing_height"]),
      stability_(hours["stability_class"]),
      temperature_(hours["air_temperature"]),
      sun_(hours["solar_elevation"]) {}

Reason SmokeHours::move_to(std::size_t i) {
  const auto number = [i](const Column& column) { return static_cast<double>(column[i]); };
  const bool was_night = air.is_night;
  const Hours dark = air.since_sunset;
  air = {.stability_class = stability_.is_missing(i) ? 0 : static_cast<int>(stability_[i]),
         .wind = KilometresPerHour(number(wind_)),
         .wind_from = Degrees(number(wind_from_)),
         .transport_wind = KilometresPerHour(number(transport_)),
         .transport_from = Degrees(number(transport_from_)),
         .mixing_height = Metres(number(mixing_)),
         .temperature = Celsius(number(temperature_)),
         .is_night = number(sun_) <= 0,
         .since_sunset = Hours(0)};
  if (air.is_night && was_night) air.since_sunset = Hours(dark.value() + 1);
  is_at_least = false;
  std::uint8_t all = transport_from_.flags(i);
  for (const Column* column : {&wind_, &transport_, &mixing_, &stability_, &temperature_, &sun_}) {
    if (column->is_missing(i)) return column->why(i);
    all = static_cast<std::uint8_t>(all | column->flags(i));
  }
  if (air.is_night) {
    all = static_cast<std::uint8_t>(all | wind_from_.flags(i));
    is_at_least = wind_from_.is_missing(i);  // who lies down the wind at the ground is not known
  }
  flags = inherited(all);
  if (transport_from_.is_missing(i)) {
    if (!pools(air)) return transport_from_.why(i);
    is_at_least = true;
  }
  return Reason::none;
}

}  // namespace hakea::core
