// What the spread models are given: the hour's weather and the unit's fuel and slope.
#pragma once

#include <span>
#include <string_view>

#include "core/base/quantity.h"
#include "core/fire/fuel.h"
#include "core/fire/spread_rothermel.h"

namespace hakea::core {

struct SpreadInputs {
  // Of the unit. `fuel` is not missing.
  const Fuel* fuel = nullptr;
  Degrees slope;      // positive where the fire climbs
  PreparedBed bed{};  // of a fuel bed, made once for all hours
  double climb = 1;   // slope_factor(slope)

  // Of the hour; a model reads those that it names.
  KilometresPerHour open_wind{};    // 10 m
  KilometresPerHour forest_wind{};  // at the fire: 1.5 m in forest, midflame over a fuel bed
  Percent moisture{};               // dead fine fuel
  Percent moisture_10h{}, moisture_100h{};
  One ffdi{}, drought_factor{};
  Millimetres kbdi{};
};

// The inputs without those of the hour.
SpreadInputs spread_inputs(const Fuel& fuel, Degrees slope);

// What a model can name as an input: a quantity of the hour, by its key, or a property of the unit.
struct SpreadInput {
  std::string_view name;
  void (*set)(SpreadInputs&, double) = nullptr;      // of an hour's
  double (*of)(const SpreadInputs&) = nullptr;       // of a unit's; NaN: nobody gave it
  bool (*is_needed)(const SpreadInputs&) = nullptr;  // for this fuel; null: always
};
std::span<const SpreadInput> known_spread_inputs();

}  // namespace hakea::core
