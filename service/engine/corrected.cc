#include "service/engine/corrected.h"

#include <algorithm>

#include "core/catalogue/catalogue.h"
#include "service/engine/verification.h"
#include "service/engine/weather_record.h"

namespace hakea::service {
namespace {

using Givers = std::vector<UnitWeatherRecord::Givers>;  // of each hour

// The run that foretold a quantity in an hour: null where none did. What is computed from others came with the temperature.
const UnitRun* foretold_by(const UnitWeatherRecord::Givers& givers, std::size_t quantity) {
  static const std::vector<std::size_t> kGiverOf = [] {
    std::vector<std::size_t> places;
    for (const core::QuantityRow& row : core::catalogue())
      places.push_back(surface_place(row.key) < kSurfaceQuantities ? surface_place(row.key) : surface_place("air_temperature"));
    return places;
  }();
  const UnitWeatherRecord::Giver& own = givers[kGiverOf[quantity]];
  const UnitWeatherRecord::Giver& giver =
      own.run || own.station ? own : givers[kGiverOf[core::quantity_index("air_temperature")]];
  return giver.station ? nullptr : giver.run;
}

// The column without its measured errors; nothing where none of its hours has a correction. Readings stand.
std::optional<core::Column> without_bias(const UnitView& view, const core::UnitHours& hours, const Givers& givers,
                                         std::size_t quantity, const core::BiasRule& rule) {
  const core::QuantityRow& row = core::catalogue()[quantity];
  core::Column column = hours.columns[quantity];
  bool is_changed = false;
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = hours.first + static_cast<int>(i);
    const UnitRun* run = foretold_by(givers[i], quantity);
    if (!run || column.is_missing(i) || column.flags(i) & core::flag::kReading) continue;
    const auto cell = view.verified->cells.find(cell_of(view.unit, run->feed, quantity, run->reference_time, hour));
    if (cell == view.verified->cells.end() || cell->second.bias.method == core::BiasMethod::none) continue;
    const double value = core::corrected(static_cast<double>(column[i]), cell->second.bias, rule);
    column.set(i, std::clamp(value, row.lowest, row.highest), column.flags(i));
    is_changed = true;
  }
  return is_changed ? std::optional(std::move(column)) : std::nullopt;
}

}  // namespace

std::optional<CorrectedHours> corrected_hours(const UnitView& view, const std::vector<std::vector<core::UnitHours>>& hours) {
  if (!view.verified || !view.weather || hours.empty() || hours.front().empty()) return std::nullopt;
  CorrectedHours corrected;
  std::vector<std::vector<core::UnitHours>> points{{hours.front().front()}};
  core::UnitHours& first = points.front().front();
  Givers givers;
  for (std::size_t i = 0; i < first.hours; ++i) givers.push_back(view.weather->givers(first.first + static_cast<int>(i)));
  for (std::size_t q = 0; q < core::catalogue().size(); ++q)
    if (const auto rule = bias_rule(q))
      if (auto column = without_bias(view, first, givers, q, *rule)) {
        corrected.quantities.push_back(q);
        corrected.columns.push_back(*std::move(column));
      }
  if (corrected.quantities.empty()) return std::nullopt;
  for (std::size_t k = 0; k < corrected.quantities.size(); ++k) first.columns[corrected.quantities[k]] = corrected.columns[k];
  const core::UnitPlan undecided;
  corrected.fit = core::fit_by_hour({&view.unit.traits, &view.unit.prescription, &undecided, {}, {}, points});
  return corrected;
}

}  // namespace hakea::service
