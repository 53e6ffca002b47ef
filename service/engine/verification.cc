#include "service/engine/verification.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <set>

#include "core/catalogue/catalogue.h"
#include "core/days/confidence.h"
#include "core/prescription/limit_hours.h"
#include "service/engine/assessment.h"
#include "service/engine/at_issue.h"

namespace hakea::service {
namespace {

// By hour and quantity.
using Observed = std::map<UtcHour, std::map<std::size_t, double>>;

struct PairsOfCell {
  std::vector<std::pair<UtcHour, core::Pair>> pairs;
  std::vector<double> crps;
};

constexpr UtcHour kNever{std::numeric_limits<std::int32_t>::max()};

// The hours of the first point that stations saw something of, put beside what was read on site.
Observed observed_by(const Unit& unit, const ObservedWeather& seen, std::vector<Observer>& observers) {
  Observed observed;
  const UtcHour first = seen.first().value_or(kNever), end = seen.end().value_or(kNever);
  const std::size_t humidity = core::quantity_index("relative_humidity");
  core::Rows scored;
  scored.set(humidity);
  std::array<std::size_t, kSurfaceQuantities> quantity_of;
  for (std::size_t q = 0; q < kSurfaceQuantities; ++q) scored.set(quantity_of[q] = core::quantity_index(kSurfaceKeys[q]));
  core::UnitHours hours = seen.hours(unit.points.front(), 0, first, end);
  core::compute_all(hours, core::with_inputs(scored));
  std::map<const StationOfPoint*, std::size_t> hours_of;
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = first + static_cast<int>(i);
    std::set<const StationOfPoint*> seers;
    const auto take = [&](std::size_t quantity) {
      // Between two observations nothing was observed.
      const core::Column& column = hours.columns[quantity];
      if (column.is_missing(i) || column.flags(i) & core::flag::kInterpolated) return false;
      observed[hour][quantity] = static_cast<double>(column[i]);
      return true;
    };
    const ObservedWeather::Seers by = seen.seers(hour);
    for (std::size_t q = 0; q < kSurfaceQuantities; ++q)
      if (by[q] && take(quantity_of[q])) seers.insert(by[q]);
    const auto at = observed.find(hour);
    if (at != observed.end() && at->second.contains(core::quantity_index("air_temperature")) &&
        at->second.contains(core::quantity_index("dew_point_temperature")))
      take(humidity);
    for (const StationOfPoint* station : seers) ++hours_of[station];
  }
  std::set<UtcHour> on_site;
  for (const EnteredReading& reading : seen.readings()) {
    observed[reading.hour][reading.quantity] = reading.value;
    on_site.insert(reading.hour);
  }
  if (!on_site.empty()) observers.push_back({.station = {}, .feed = {}, .hours = on_site.size()});
  for (const StationOfPoint& station : seen.stations(0)) {
    const auto counted = hours_of.find(&station);
    if (counted == hours_of.end()) continue;
    const std::string feed = station.run ? station.run->feed : std::string();
    // One that tells in several files, or is posted of as well, is told of once for each.
    const auto known = std::find_if(observers.begin(), observers.end(),
                                    [&](const Observer& other) { return other.station == station.name() && other.feed == feed; });
    if (known == observers.end())
      observers.push_back({station.name(), feed, station.km, station.higher_m, counted->second});
    else
      known->hours += counted->second;
  }
  return observed;
}

// A direction is scored where the wind holds one; its pair is turned so that it lies within half a circle.
std::optional<core::Pair> pair_of(const core::QuantityRow& row, double forecast, double value,
                                  const std::map<std::size_t, double>& observed) {
  if (std::isnan(forecast)) return std::nullopt;
  if (!row.is_direction) return core::Pair{forecast, value};
  const auto speed = observed.find(core::quantity_index("wind_speed"));
  if (speed == observed.end() || speed->second < core::kWindForDirectionKmh) return std::nullopt;
  return core::Pair{value + core::direction_error(forecast, value), value};
}

void take_pairs(const AtIssue& issue, const Points& points, const Observed& observed, const Unit& unit,
                std::map<ScoreCell, PairsOfCell>& cells) {
  const std::vector<core::UnitHours>& members = points.front();
  const UtcHour begin =
      std::max(members.front().first, std::max(issue.run().first(), first_hour_from(issue.run().reference_time)));
  for (auto at = observed.lower_bound(begin); at != observed.end() && at->first < members.front().end(); ++at) {
    const auto i = static_cast<std::size_t>(at->first - members.front().first);
    for (const auto& [quantity, value] : at->second) {
      const core::QuantityRow& row = core::catalogue()[quantity];
      std::vector<double> forecasts;
      for (const core::UnitHours& member : members)
        if (!member.columns[quantity].is_missing(i)) forecasts.push_back(static_cast<double>(member.columns[quantity][i]));
      if (forecasts.empty()) continue;
      double sum = 0;
      for (const double forecast : forecasts) sum += forecast;
      // A mean of directions would need vectors: of an ensemble the first member's counts.
      const double forecast = row.is_direction ? forecasts.front() : sum / static_cast<double>(forecasts.size());
      const auto pair = pair_of(row, forecast, value, at->second);
      if (!pair) continue;
      PairsOfCell& cell = cells[cell_of(unit, issue.run().feed, quantity, issue.run().reference_time, at->first)];
      cell.pairs.emplace_back(at->first, *pair);
      if (forecasts.size() > 1 && !row.is_direction) cell.crps.push_back(core::fair_crps_of_members(forecasts, value));
    }
  }
}

ScoredCell scored(PairsOfCell& cell, std::size_t quantity) {
  // By valid time, whichever run it was.
  std::stable_sort(cell.pairs.begin(), cell.pairs.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<core::Pair> pairs;
  for (const auto& [hour, pair] : cell.pairs) pairs.push_back(pair);
  ScoredCell result{.errors = core::errors_of(pairs), .crps = {}, .bias = {}};
  if (!cell.crps.empty()) {
    double sum = 0;
    for (const double crps : cell.crps) sum += crps;
    result.crps = sum / static_cast<double>(cell.crps.size());
  }
  if (const auto rule = bias_rule(quantity)) result.bias = core::estimate_bias(pairs, *rule);
  return result;
}

// What came: the verdicts of the dates on nothing but what was observed.
std::map<LocalDate, core::Verdict> came(const Unit& unit, const ObservedWeather& seen, UtcHour first, UtcHour end,
                                        const CarriedDays& carried) {
  std::vector<std::string> untold;
  const auto state = state_to_begin_with(unit, carried, first, untold, std::chrono::days(0));
  Points points;
  for (std::size_t p = 0; p < unit.points.size(); ++p) {
    core::UnitHours hours = seen.hours(unit.points[p], p, first, end);
    hours.initial_state = state;
    points.push_back({std::move(hours)});
  }
  std::map<LocalDate, core::Verdict> verdicts;
  for (const auto& [date, verdict] : history_of(unit, std::move(points)).dates) verdicts.emplace(date, verdict);
  return verdicts;
}

}  // namespace

std::string_view season_word(int season) {
  constexpr std::array<std::string_view, 4> kSeasons{"dec-feb", "mar-may", "jun-aug", "sep-nov"};
  return kSeasons[static_cast<std::size_t>(season)];
}

std::optional<core::BiasRule> bias_rule(std::size_t quantity) {
  static const std::map<std::string_view, core::BiasRule> rules{
      {"air_temperature", {core::BiasKind::additive, 3}},    {"dew_point_temperature", {core::BiasKind::additive, 3}},
      {"relative_humidity", {core::BiasKind::additive, 15}}, {"wind_speed", {core::BiasKind::multiplicative, 0.3}},
      {"wind_gust", {core::BiasKind::multiplicative, 0.3}},
  };
  const auto found = rules.find(core::catalogue()[quantity].key);
  return found == rules.end() ? std::nullopt : std::optional(found->second);
}

std::optional<core::Agreement> windows_that_came(const Verification& verification, const std::string& feed, int lead_days) {
  const auto windows = verification.windows.find({feed, lead_days});
  if (windows == verification.windows.end()) return std::nullopt;
  const core::Contingency& table = windows->second.table;
  const int called = static_cast<int>(table.hits + table.false_alarms);
  if (table.n() < static_cast<double>(core::kCasesForWindowShare) || called == 0) return std::nullopt;
  return core::Agreement{.same = static_cast<int>(table.hits), .of = called};
}

ScoreCell cell_of(const Unit& unit, std::string feed, std::size_t quantity, UtcTime reference_time, UtcHour hour) {
  const LocalTime local = unit.traits.zone.local(hour.start());
  const LocalDate date = std::chrono::floor<std::chrono::days>(local);
  const unsigned month = static_cast<unsigned>(std::chrono::year_month_day(date).month());
  return {.feed = std::move(feed),
          .quantity = quantity,
          .lead_days = static_cast<int>(std::chrono::floor<std::chrono::days>(hour.start() - reference_time).count()),
          .season = static_cast<int>(month % 12 / 3),
          .three_hours = static_cast<int>(std::chrono::floor<std::chrono::hours>(local - date).count() / 3)};
}

Result<Verification> verify(const Unit& unit, const std::vector<RunRow>& rows, const ReadRunOf& read, const CarriedDays& carried,
                            ObservedWeather seen, UtcTime from, UtcTime to) {
  Verification verification;
  const ObservedWeather known = seen;  // of which each run has its part
  seen.keep_only(first_hour_from(from), UtcHour::of(to));
  const Observed observed = observed_by(unit, seen, verification.observers);
  if (observed.empty()) return verification;
  verification.from = observed.begin()->first.start();
  verification.to = observed.rbegin()->first.end();
  const auto verdicts = came(unit, seen, observed.begin()->first, observed.rbegin()->first + 1, carried);
  core::Rows wanted = core::rows_of_limits(unit.prescription);
  for (const auto& [hour, values] : observed)
    for (const auto& [quantity, value] : values) wanted.set(quantity);
  wanted = core::with_inputs(wanted);

  std::map<ScoreCell, PairsOfCell> cells;
  std::vector<UnitRunPtr> around;  // those that the run at hand can rest on: a few at a time, however many there are
  std::size_t next_row = 0;
  for (const RunRow& row : rows) {
    std::erase_if(around, [&](const UnitRunPtr& other) { return other->reference_time < row.reference_time - kHoursBefore; });
    for (; next_row < rows.size() && rows[next_row].reference_time <= row.reference_time; ++next_row) {
      const auto taken_up = read(rows[next_row]);
      if (!taken_up) return taken_up.errors();
      if (*taken_up) around.push_back(*taken_up);
    }
    const auto at = std::find_if(around.begin(), around.end(), [&](const UnitRunPtr& other) { return other->id == row.id; });
    if (at == around.end()) continue;
    const UnitRunPtr run = *at;
    const auto next = observed.lower_bound(first_hour_from(run->reference_time));
    if (next == observed.end() || next->first >= run->end()) continue;
    const AtIssue issue(unit, run, around, carried, known);
    const Points hours = issue.hours(wanted);
    if (hours.empty() || hours.front().empty()) continue;
    take_pairs(issue, hours, observed, unit, cells);
    const LocalDate issued = unit.traits.zone.date(run->reference_time);
    for (const AtIssue::OnDate& on : issue.said(hours)) {
      const auto verdict = verdicts.find(on.date);
      if (verdict == verdicts.end() || core::says_nothing(verdict->second)) continue;
      const bool has_come = verdict->second == core::Verdict::met;
      ScoredWindows& windows = verification.windows[{run->feed, static_cast<int>((on.date - issued).count())}];
      if (on.members) windows.chances.push_back({static_cast<double>(on.members->met) / on.members->of, has_come});
      if (!core::says_nothing(on.weather)) windows.table.count(on.weather == core::Verdict::met, has_come);
    }
  }
  for (auto& [cell, pairs] : cells) verification.cells.emplace(cell, scored(pairs, cell.quantity));
  return verification;
}

}  // namespace hakea::service
