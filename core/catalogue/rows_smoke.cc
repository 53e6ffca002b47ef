// Smoke: where it goes, who lies under it, how thick it is there.
#include <algorithm>
#include <array>
#include <cmath>

#include "core/air/smoke.h"
#include "core/catalogue/derive.h"

namespace hakea::core {
namespace {

constexpr Metres kWithoutReceptors{5000};
constexpr double kDirectionless = 5;  // km/h

// The air that smoke meets, hour by hour.
class SmokeHours {
 public:
  explicit SmokeHours(const UnitHours& hours)
      : wind_(hours["wind_speed"]),
        wind_from_(hours["wind_from_direction"]),
        transport_(hours["transport_wind_speed"]),
        transport_from_(hours["transport_wind_from_direction"]),
        mixing_(hours["mixing_height"]),
        stability_(hours["stability_class"]),
        temperature_(hours["air_temperature"]),
        sun_(hours["solar_elevation"]) {}

  SmokeAir air;
  std::uint8_t flags = 0;
  bool is_at_least = false;  // who lies further off in a light night wind is not known without its direction

  // Every hour in turn: a night knows when it began. The reason for which the smoke of the hour is not known, or none.
  Reason move_to(std::size_t i) {
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
    std::uint8_t all = 0;
    for (const Column* column : {&wind_, &transport_, &mixing_, &stability_, &temperature_, &sun_}) {
      if (column->is_missing(i)) return column->why(i);
      all = static_cast<std::uint8_t>(all | column->flags(i));
    }
    is_at_least = false;
    if (transport_from_.is_missing(i)) {
      if (!pools(air)) return transport_from_.why(i);
      is_at_least = true;
    }
    flags = inherited(static_cast<std::uint8_t>(all | transport_from_.flags(i)));
    return Reason::none;
  }

 private:
  const Column &wind_, &wind_from_, &transport_, &transport_from_, &mixing_, &stability_, &temperature_, &sun_;
};

void bearing(UnitHours& hours) {
  derive(
      hours["smoke_bearing"],
      [](double from, double speed) {
        return HourValue{smoke_bearing(Degrees(from)).value(), speed >= kDirectionless};
      },
      hours["transport_wind_from_direction"], hours["transport_wind_speed"]);
}

void receptors_under_smoke(UnitHours& hours) {
  Column& out = hours["receptors_under_smoke"];
  const std::vector<Receptor>& receptors = hours.unit->receptors;
  if (receptors.empty()) return fill_missing(out, Reason::no_parameter);
  SmokeHours smoke(hours);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (const Reason why = smoke.move_to(i); why != Reason::none) {
      out.set_missing(i, why);
      continue;
    }
    const auto under =
        std::count_if(receptors.begin(), receptors.end(), [&](const Receptor& r) { return is_under_smoke(r, smoke.air); });
    const bool in_domain = smoke.air.is_night || smoke.air.transport_wind.value() >= kDirectionless;
    out.set(
        i, static_cast<double>(under),
        static_cast<std::uint8_t>(smoke.flags | (in_domain ? 0 : flag::kOutOfDomain) | (smoke.is_at_least ? flag::kAtLeast : 0)));
  }
}

SmokeFuel smoke_fuel(const Fuel& fuel) {
  return fuel.moisture_model == MoistureModel::grass   ? SmokeFuel::grass
         : fuel.moisture_model == MoistureModel::heath ? SmokeFuel::shrubs
                                                       : SmokeFuel::forest;
}

void concentration(UnitHours& hours) {
  Column& out = hours["smoke_concentration"];
  const UnitTraits& unit = *hours.unit;
  const Burn burn{unit.area_ha, unit.fuel.load, unit.lighting, emission_factors(smoke_fuel(unit.fuel))};
  if (!(burn.area_ha > 0) || burn.load.is_missing() || !(burn.lighting.value() > 0))
    return fill_missing(out, Reason::no_parameter);
  SmokeHours smoke(hours);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (const Reason why = smoke.move_to(i); why != Reason::none) {
      out.set_missing(i, why);
      continue;
    }
    Concentration worst{0};
    const auto take = [&](Metres distance) {
      const Concentration here = smoke_concentration(burn, smoke.air, distance);
      worst.ug_m3 = std::max(worst.ug_m3, here.ug_m3);
      worst.in_domain = worst.in_domain && here.in_domain;
    };
    if (unit.receptors.empty()) take(kWithoutReceptors);
    for (const Receptor& receptor : unit.receptors)
      if (is_under_smoke(receptor, smoke.air)) take(receptor.distance);
    out.set(i, worst.ug_m3,
            static_cast<std::uint8_t>(smoke.flags | (worst.in_domain ? 0 : flag::kOutOfDomain) |
                                      (smoke.is_at_least ? flag::kAtLeast : 0)));
  }
}

constexpr std::string_view kInputs =
    "transport_wind_from_direction transport_wind_speed wind_speed wind_from_direction mixing_height stability_class "
    "air_temperature solar_elevation receptors";

constexpr std::array kRows{
    QuantityRow{.key = "smoke_bearing",
                .title = "Bearing of the smoke",
                .unit = "deg",
                .lowest = 0,
                .highest = 360,
                .model = "downwind of the transport wind",
                .source = "common practice, no source",
                .equation = "transport wind direction + 180",
                .domain = "transport wind of 5 km/h or more",
                .inputs = "transport_wind_from_direction transport_wind_speed",
                .is_direction = true,
                .compute = bearing},
    QuantityRow{.key = "receptors_under_smoke",
                .title = "Receptors under the smoke",
                .unit = "1",
                .lowest = 0,
                .highest = 1000,
                .model =
                    "the unit's receptors in the drift sector of a burn alight in this hour, by night still smouldering: 22.5 "
                    "degrees to each side of the smoke's bearing, 50, 40 and 30 in classes A, B and C; by night that of the "
                    "10 m wind too, and under 5 km/h all within 4.8 km",
                .source = "EPA-454/R-99-005 (2000) section 6; Slade 1968, TID-24190 [from memory]; widths and pooling common "
                          "practice, no source",
                .equation = "|bearing of the receptor - bearing of the smoke| <= max(22.5, 2 sigma_theta)",
                .domain = "by day transport wind of 5 km/h or more; receptors within 100 km; level ground",
                .inputs = kInputs,
                .status = Status::provisional,
                .compute = receptors_under_smoke},
    QuantityRow{.key = "smoke_concentration",
                .title = "Smoke (PM2.5) at the worst receptor, screening",
                .unit = "ug/m3",
                .lowest = 0,
                .highest = 100000,
                .model = "screening, within a factor of ten: Gaussian plume under a lid, of a burn alight in this hour, by night "
                         "still smouldering; at each receptor in the drift sector as if on the axis, 0 with none under it; 5 km "
                         "downwind where the unit has no receptors",
                .source = "EPA-454/B-95-003b (ISC3) and SCREEN3; Briggs 1975; emission factors Chen et al. 2019, Geosci. Model "
                          "Dev. 12, and FINN v2.5 (Wiedinmyer et al. 2023), second-hand",
                .equation =
                    "area integral of Q / (2 pi u sigma_y sigma_z) V; Q = area load EF / hours of lighting, 60 % flaming and "
                    "lofted, 40 % smouldering on the ground with e-folding 4.5 h",
                .domain = "level ground, steady wind of 1 m/s or more; 100 m from the edge to 50 km; flames to 300 MW a column",
                .inputs = "transport_wind_from_direction transport_wind_speed wind_speed wind_from_direction mixing_height "
                          "stability_class air_temperature solar_elevation receptors area_ha fuel.load_t_ha",
                .status = Status::provisional,
                .compute = concentration},
};

}  // namespace

std::span<const QuantityRow> smoke_rows() { return kRows; }

}  // namespace hakea::core
