#include "core/fire/fuel.h"

#include <cmath>

#include "core/base/numbers.h"
#include "core/fire/spread_rothermel.h"
#include "core/fire/spread_spinifex.h"
#include "core/fire/wind_to_flame.h"

namespace hakea::core {
namespace {

constexpr double kTonnesPerHectareInPoundsPerSquareFoot = 48.8242764;

void complete_bed(Fuel& fuel) {
  FuelBed& bed = *fuel.bed;
  if (fuel.load.is_missing())
    fuel.load = TonnesPerHectare(bed.load_lb_ft2[FuelBed::dead_1h] * kTonnesPerHectareInPoundsPerSquareFoot);
  else
    bed.load_lb_ft2[FuelBed::dead_1h] = fuel.load.value() / kTonnesPerHectareInPoundsPerSquareFoot;
  if (fuel.height.is_missing())
    fuel.height = Metres(bed.depth_ft * kFoot);
  else
    bed.depth_ft = fuel.height.value() / kFoot;
  if (std::isnan(fuel.wind_reduction)) fuel.wind_reduction = wind_reduction_to_midflame(fuel);
  if (fuel.live_herb_moisture.is_missing() && bed.is_dynamic) fuel.live_herb_moisture = herb_moisture_at(fuel.curing);
}

}  // namespace

TonnesPerHectare dead_load(const Fuel& fuel) {
  if (!fuel.bed) return fuel.load;
  const auto& load = fuel.bed->load_lb_ft2;
  return TonnesPerHectare((load[FuelBed::dead_1h] + load[FuelBed::dead_10h] + load[FuelBed::dead_100h]) *
                          kTonnesPerHectareInPoundsPerSquareFoot);
}

TonnesPerHectare accumulated_load(TonnesPerHectare steady, TonnesPerHectare residual, double per_year, double years) {
  if (!(years >= 0)) return TonnesPerHectare::missing();
  return TonnesPerHectare(steady.value() + (residual.value() - steady.value()) * std::exp(-per_year * years));
}

Fuel completed(Fuel fuel) {
  if (fuel.spread_model == SpreadModel::spinifex) {
    if (fuel.load.is_missing()) fuel.load = spinifex_load(fuel.age_years);
    if (fuel.ground_cover.is_missing()) fuel.ground_cover = spinifex_cover(fuel.age_years);
  }
  if (fuel.load.is_missing()) {
    const TonnesPerHectare left = fuel.residual_load.is_missing() ? TonnesPerHectare(0) : fuel.residual_load;
    fuel.load = accumulated_load(fuel.steady_load, left, fuel.accumulation_per_year, fuel.age_years);
  }
  if (fuel.bed) complete_bed(fuel);
  return fuel;
}

}  // namespace hakea::core
