// The hours of one unit: what is known, and the columns that follow from it.
//
// `columns` has one column per catalogue row. Before compute_all(): columns of fed quantities (weather, and what core/air
// made of the levels) are filled, `readings` hold what people or a weather file entered. Afterwards every row is filled,
// missing values with their reason. Pure: same input, same bits.
#pragma once

#include <limits>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "core/air/mixing_height.h"
#include "core/air/smoke.h"
#include "core/air/stability.h"
#include "core/base/time.h"
#include "core/base/zone.h"
#include "core/fire/fuel.h"
#include "core/weather/column.h"
#include "core/weather/site.h"
#include "core/wetness/state.h"

namespace hakea::core {

// What the models need to know of a unit.
struct UnitTraits {
  Site site;
  Fuel fuel;
  Millimetres annual_rain;
  TimeZone zone;
  double area_ha = std::numeric_limits<double>::quiet_NaN();
  Hours lighting{5};  // from the first to the last ignition, all burn days together
  std::vector<Receptor> receptors;
  std::optional<double> sea_bearing_deg;  // the way to the sea from a coastal unit
};

// How a mixing height was found, and whether the ways to find it disagree.
struct MixingNote {
  MixingMethod method = MixingMethod::none;
  bool methods_disagree = false;
  bool operator==(const MixingNote&) const = default;
};

struct UnitHours {
  const UnitTraits* unit = nullptr;
  UtcHour first;
  std::size_t hours = 0;
  std::optional<WetnessState> initial_state;  // at or before the record, or inside it
  std::vector<Column> columns;                // by catalogue index
  std::vector<Column> readings;               // by catalogue index; empty where none was entered
  std::vector<MixingNote> mixing;             // by hour; empty for a weather table
  std::vector<StabilityMethod> stability;     // by hour; empty before it is computed

  UnitHours() = default;
  UnitHours(const UnitTraits& unit, UtcHour first, std::size_t hours);

  // By catalogue key; the key must exist.
  Column& operator[](std::string_view key);
  const Column& operator[](std::string_view key) const;
  // The reading of a quantity for hour i, or NaN.
  double reading(std::string_view key, std::size_t i) const;
  bool has_readings(std::string_view key) const;

  UtcHour end() const { return first + static_cast<int>(hours); }
};

}  // namespace hakea::core
