#include "core/fire/spread_inputs.h"

#include <array>

#include "core/base/numbers.h"
#include "core/fire/slope.h"

namespace hakea::core {
namespace {

template <FuelBed::Class C>
bool bed_has(const SpreadInputs& in) {
  return in.fuel->bed && in.fuel->bed->has(C);
}

constexpr std::array kSpreadInputs{
    SpreadInput{"litter_moisture", [](SpreadInputs& in, double v) { in.moisture = Percent(v); }},
    SpreadInput{"dead_fuel_moisture_10h", [](SpreadInputs& in, double v) { in.moisture_10h = Percent(v); }, nullptr,
                bed_has<FuelBed::dead_10h>},
    SpreadInput{"dead_fuel_moisture_100h", [](SpreadInputs& in, double v) { in.moisture_100h = Percent(v); }, nullptr,
                bed_has<FuelBed::dead_100h>},
    SpreadInput{"wind_speed", [](SpreadInputs& in, double v) { in.open_wind = KilometresPerHour(v); }},
    SpreadInput{"in_forest_wind_speed", [](SpreadInputs& in, double v) { in.forest_wind = KilometresPerHour(v); }},
    SpreadInput{"ffdi", [](SpreadInputs& in, double v) { in.ffdi = One(v); }},
    SpreadInput{"drought_factor", [](SpreadInputs& in, double v) { in.drought_factor = One(v); }},
    SpreadInput{"kbdi", [](SpreadInputs& in, double v) { in.kbdi = Millimetres(v); }},
    SpreadInput{"slope_deg", nullptr, [](const SpreadInputs& in) { return in.slope.value(); }},
    SpreadInput{"fuel.load_t_ha", nullptr, [](const SpreadInputs& in) { return in.fuel->load.value(); }},
    SpreadInput{"fuel.age_years", nullptr, [](const SpreadInputs& in) { return in.fuel->age_years; }},
    SpreadInput{"fuel.height_m", nullptr, [](const SpreadInputs& in) { return in.fuel->height.value(); }},
    SpreadInput{"fuel.curing_pct", nullptr, [](const SpreadInputs& in) { return in.fuel->curing.value(); }},
    SpreadInput{"fuel.wind_reduction", nullptr, [](const SpreadInputs& in) { return in.fuel->wind_reduction; }},
    SpreadInput{"fuel.canopy_height_m", nullptr, [](const SpreadInputs& in) { return in.fuel->canopy_height.value(); }},
    SpreadInput{"fuel.canopy_cover_pct", nullptr, [](const SpreadInputs& in) { return in.fuel->canopy_cover.value(); }},
    SpreadInput{"fuel.ground_cover_pct", nullptr, [](const SpreadInputs& in) { return in.fuel->ground_cover.value(); }},
    SpreadInput{"fuel.grass", nullptr, [](const SpreadInputs& in) { return in.fuel->grass == GrassState::none ? kNaN : 0; }},
    SpreadInput{"fuel.tree_factor", nullptr, [](const SpreadInputs& in) { return in.fuel->tree_factor; }},
    SpreadInput{"fuel.surface_score", nullptr, [](const SpreadInputs& in) { return in.fuel->surface_score; }},
    SpreadInput{"fuel.near_surface_score", nullptr, [](const SpreadInputs& in) { return in.fuel->near_surface_score; }},
    SpreadInput{"fuel.elevated_score", nullptr, [](const SpreadInputs& in) { return in.fuel->elevated_score; }},
    SpreadInput{"fuel.elevated_height_m", nullptr, [](const SpreadInputs& in) { return in.fuel->elevated_height.value(); }},
    SpreadInput{"fuel.bed", nullptr, [](const SpreadInputs& in) { return in.fuel->bed ? 0 : kNaN; }},
    SpreadInput{"fuel.live_herb_moisture_pct", nullptr,
                [](const SpreadInputs& in) { return in.fuel->live_herb_moisture.value(); }, bed_has<FuelBed::herbaceous>},
    SpreadInput{"fuel.live_woody_moisture_pct", nullptr,
                [](const SpreadInputs& in) { return in.fuel->live_woody_moisture.value(); }, bed_has<FuelBed::woody>},
};

}  // namespace

std::span<const SpreadInput> known_spread_inputs() { return kSpreadInputs; }

SpreadInputs spread_inputs(const Fuel& fuel, Degrees slope) {
  SpreadInputs in;
  in.fuel = &fuel;
  in.slope = slope;
  in.climb = slope_factor(slope);
  if (fuel.bed) in.bed = prepared(*fuel.bed, fuel.live_herb_moisture, fuel.live_woody_moisture, slope);
  return in;
}

}  // namespace hakea::core
