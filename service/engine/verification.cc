#include "service/engine/verification.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "core/catalogue/catalogue.h"
#include "core/days/confidence.h"
#include "core/prescription/limit_hours.h"
#include "service/engine/assessment.h"
#include "service/engine/at_issue.h"

namespace hakea::service {
namespace {

using Observed = std::map<UtcHour, std::map<std::size_t, double>>;  // by hour and quantity; the later entered counts

struct PairsOfCell {
  std::vector<std::pair<UtcHour, core::Pair>> pairs;
  std::vector<double> crps;
};

Observed observed_before(const std::vector<EnteredReading>& readings, UtcTime to) {
  Observed observed;
  for (const EnteredReading& reading : readings)
    if (reading.hour.start() < to) observed[reading.hour][reading.quantity] = reading.value;
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
  const UtcHour begin = std::max(members.front().first, first_hour_from(issue.run().reference_time));
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
std::map<LocalDate, core::Verdict> came(const Unit& unit, const Observed& observed, const CarriedDays& carried) {
  const UtcHour first = observed.begin()->first, end = observed.rbegin()->first + 1;
  std::vector<std::string> untold;
  const auto state = state_to_begin_with(unit, carried, first, untold, std::chrono::days(0));
  Points points;
  for (const core::UnitTraits& point : unit.points) {
    core::UnitHours hours(point, first, static_cast<std::size_t>(end - first));
    hours.initial_state = state;
    for (const auto& [hour, values] : observed)
      for (const auto& [quantity, value] : values) {
        core::Column& column = hours.readings[quantity];
        if (column.empty()) column = hours.columns[quantity] = core::Column(hours.hours, core::Reason::gap);
        column.set(static_cast<std::size_t>(hour - first), value, core::flag::kReading);
      }
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

Verification verify(const Unit& unit, const std::vector<UnitRunPtr>& runs, const CarriedDays& carried,
                    const std::vector<EnteredReading>& observations, UtcTime to) {
  Verification verification;
  const Observed observed = observed_before(observations, to);
  if (observed.empty()) return verification;
  verification.from = observed.begin()->first.start();
  verification.to = observed.rbegin()->first.end();
  const auto verdicts = came(unit, observed, carried);
  core::Rows wanted = core::rows_of_limits(unit.prescription);
  for (const auto& [hour, values] : observed)
    for (const auto& [quantity, value] : values) wanted.set(quantity);
  wanted = core::with_inputs(wanted);

  std::map<ScoreCell, PairsOfCell> cells;
  for (const UnitRunPtr& run : runs) {
    const auto next = observed.lower_bound(first_hour_from(run->reference_time));
    if (next == observed.end() || next->first >= run->end()) continue;
    const AtIssue issue(unit, run, runs, carried, observations);
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
