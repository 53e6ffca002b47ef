#include "service/engine/corrected.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/base/numbers.h"
#include "core/catalogue/catalogue.h"
#include "core/weather/humidity.h"
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

// Another value for an hour of a column, and what is still to be expected beside it.
struct Corrected {
  double value = 0, deviation = kNaN;
};

std::vector<double> values_of(const std::vector<core::UnitHours>& members, std::size_t quantity, std::size_t i) {
  std::vector<double> values;
  for (const core::UnitHours& member : members)
    if (const core::Column& column = member.columns[quantity]; !column.is_missing(i))
      values.push_back(static_cast<double>(column[i]));
  return values;
}

// The first member without the errors of its cell. A calibrated one keeps its place among the members, in units of their spread
// (Van Schaeybroeck & Vannitsem 2015, Q. J. R. Meteorol. Soc. 141, 807-818 [from memory]).
std::optional<Corrected> without_errors(const ScoredCell& cell, const core::BiasRule& rule,
                                        const std::vector<core::UnitHours>& members, std::size_t quantity, std::size_t i) {
  const auto raw = static_cast<double>(members.front().columns[quantity][i]);
  if (cell.calibration) {
    const auto [mean, variance] = core::mean_and_variance(values_of(members, quantity, i));
    const core::CalibratedForecast forecast = core::calibrated(cell.calibration->emos, mean, variance);
    const double deviation = forecast.standard_deviation();
    const double place = variance > 0 ? (raw - mean) / std::sqrt(variance) : 0;
    return Corrected{forecast.mean() + place * deviation, deviation};
  }
  if (cell.bias.method == core::BiasMethod::none) return std::nullopt;
  return Corrected{.value = core::corrected(raw, cell.bias, rule)};
}

// What is known of the errors of an hour of a quantity; null where nothing is.
const ScoredCell* cell_of_hour(const UnitView& view, const Givers& givers, std::size_t i, UtcHour hour, std::size_t quantity) {
  const UnitRun* run = foretold_by(givers[i], quantity);
  if (!run) return nullptr;
  const auto cell = view.verified->cells.find(cell_of(view.unit, run->feed, quantity, run->reference_time, hour));
  return cell == view.verified->cells.end() ? nullptr : &cell->second;
}

// The first member of a point without its measured errors, hour by hour.
class CorrectedPoint {
 public:
  CorrectedPoint(const UnitView& view, const Givers& givers, const std::vector<core::UnitHours>& members)
      : hours(members.front()), view_(view), givers_(givers), members_(members) {
    for (std::size_t q = 0; q < core::catalogue().size(); ++q)
      if (const auto rule = bias_rule(q); rule && q != humidity()) correct(q, *rule);
    correct_humidity();
  }

  core::UnitHours hours;
  std::map<std::size_t, std::vector<double>> deviations;  // of the quantities that are not as they were

 private:
  static std::size_t humidity() { return core::quantity_index("relative_humidity"); }

  // Readings stand.
  bool may_be_corrected(std::size_t quantity, std::size_t i) const {
    const core::Column& column = members_.front().columns[quantity];
    return !column.is_missing(i) && !(column.flags(i) & core::flag::kReading);
  }

  void put(std::size_t quantity, std::size_t i, const Corrected& corrected) {
    const core::QuantityRow& row = core::catalogue()[quantity];
    core::Column& column = hours.columns[quantity];
    column.set(i, std::clamp(corrected.value, row.lowest, row.highest), column.flags(i));
    auto& deviation = deviations[quantity];
    deviation.resize(hours.hours, kNaN);
    deviation[i] = corrected.deviation;
    changed_[quantity].resize(hours.hours, false);
    changed_[quantity][i] = true;
  }
  bool is_changed(std::string_view key, std::size_t i) const {
    const auto found = changed_.find(core::quantity_index(key));
    return found != changed_.end() && found->second[i];
  }

  void correct(std::size_t quantity, const core::BiasRule& rule) {
    for (std::size_t i = 0; i < hours.hours; ++i) {
      if (!may_be_corrected(quantity, i)) continue;
      const ScoredCell* cell = cell_of_hour(view_, givers_, i, hours.first + static_cast<int>(i), quantity);
      if (const auto corrected = cell ? without_errors(*cell, rule, members_, quantity, i) : std::nullopt)
        put(quantity, i, *corrected);
    }
  }

  void correct_humidity() {
    const std::size_t quantity = humidity();
    const auto rule = bias_rule(quantity);
    for (std::size_t i = 0; i < hours.hours; ++i) {
      if (!may_be_corrected(quantity, i)) continue;
      const ScoredCell* cell = cell_of_hour(view_, givers_, i, hours.first + static_cast<int>(i), quantity);
      const bool has_own = cell && cell->bias.method != core::BiasMethod::none;
      const bool is_dew_changed = is_changed("dew_point_temperature", i);
      if (is_dew_changed || (!has_own && is_changed("air_temperature", i))) {
        const double air = static_cast<double>(hours["air_temperature"][i]),
                     dew = static_cast<double>(hours["dew_point_temperature"][i]);
        if (std::isnan(air) || std::isnan(dew)) continue;
        put(quantity, i, {.value = core::relative_humidity({Celsius(air), Celsius(dew)}).value()});
      } else if (has_own) {
        put(quantity, i, {.value = core::corrected(static_cast<double>(hours.columns[quantity][i]), cell->bias, *rule)});
      }
    }
  }

  const UnitView& view_;
  const Givers& givers_;
  const std::vector<core::UnitHours>& members_;
  std::map<std::size_t, std::vector<bool>> changed_;
};

}  // namespace

std::optional<CorrectedHours> corrected_hours(const UnitView& view, const std::vector<std::vector<core::UnitHours>>& hours) {
  if (!view.verified || !view.weather || hours.empty() || hours.front().empty()) return std::nullopt;
  const core::UnitHours& raw = hours.front().front();
  Givers givers;
  for (std::size_t i = 0; i < raw.hours; ++i) givers.push_back(view.weather->givers(raw.first + static_cast<int>(i)));
  CorrectedHours corrected;
  std::vector<std::vector<core::UnitHours>> points;
  for (const auto& members : hours) {
    CorrectedPoint point(view, givers, members);
    if (points.empty())
      for (auto& [quantity, deviations] : point.deviations) {
        corrected.quantities.push_back(quantity);
        corrected.columns.push_back(point.hours.columns[quantity]);
        corrected.deviations.push_back(std::move(deviations));
      }
    points.push_back({std::move(point.hours)});
  }
  if (corrected.quantities.empty()) return std::nullopt;
  const core::UnitPlan undecided;
  corrected.fit = core::fit_by_hour({&view.unit.traits, &view.unit.prescription, &undecided, {}, {}, points});
  return corrected;
}

}  // namespace hakea::service
