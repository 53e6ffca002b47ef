// Smoke: where it goes, who lies under it, how thick it is there.
#include <algorithm>
#include <array>
#include <cmath>

#include "core/catalogue/derive.h"
#include "core/catalogue/smoke_hours.h"

namespace hakea::core {
namespace {

constexpr Metres kWithoutReceptors{5000};

void bearing(UnitHours& hours) {
  derive(
      hours["smoke_bearing"],
      [](double from, double speed) {
        return HourValue{smoke_bearing(Degrees(from)).value(), KilometresPerHour(speed) >= kVariableWind};
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
    const bool in_domain = has_direction(smoke.air);
    out.set(
        i, static_cast<double>(under),
        static_cast<std::uint8_t>(smoke.flags | (in_domain ? 0 : flag::kOutOfDomain) | (smoke.is_at_least ? flag::kAtLeast : 0)));
  }
}

void concentration(UnitHours& hours) {
  Column& out = hours["smoke_concentration"];
  const UnitTraits& unit = *hours.unit;
  const std::optional<Burn> burn = burn_of(unit);
  if (!burn) return fill_missing(out, Reason::no_parameter);
  std::vector<BurnSmoke> at;
  for (const Receptor& receptor : unit.receptors) at.emplace_back(*burn, receptor.distance);
  if (unit.receptors.empty()) at.emplace_back(*burn, kWithoutReceptors);
  SmokeHours smoke(hours);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    if (const Reason why = smoke.move_to(i); why != Reason::none) {
      out.set_missing(i, why);
      continue;
    }
    // Without a direction by day nobody can be said to lie outside the smoke.
    Concentration worst{.in_domain = unit.receptors.empty() || has_direction(smoke.air)};
    const auto take = [&](BurnSmoke& place) {
      const Concentration here = place.in(smoke.air);
      if (!std::isnan(worst.ug_m3) && !(here.ug_m3 <= worst.ug_m3)) worst.ug_m3 = here.ug_m3;
      worst.in_domain = worst.in_domain && here.in_domain;
    };
    if (unit.receptors.empty()) take(at.front());
    for (std::size_t r = 0; r < unit.receptors.size(); ++r)
      if (is_under_smoke(unit.receptors[r], smoke.air)) take(at[r]);
    out.set(i, worst.ug_m3,
            static_cast<std::uint8_t>(smoke.flags | (worst.in_domain ? 0 : flag::kOutOfDomain) |
                                      (smoke.is_at_least ? flag::kAtLeast : 0)));
  }
}

constexpr std::string_view kDriftInputs =
    "transport_wind_from_direction transport_wind_speed wind_speed wind_from_direction mixing_height stability_class "
    "air_temperature solar_elevation receptors";

constexpr std::array kSmokeRows{
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
                .inputs = kDriftInputs,
                .status = Status::provisional,
                .compute = receptors_under_smoke},
    QuantityRow{.key = "smoke_concentration",
                .title = "Smoke (PM2.5) at the worst receptor, screening",
                .unit = "ug/m3",
                .lowest = 0,
                .highest = 1000000,
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

std::span<const QuantityRow> smoke_rows() { return kSmokeRows; }

}  // namespace hakea::core
