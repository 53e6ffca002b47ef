#include "service/engine/scored_hours.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/catalogue/catalogue.h"

namespace hakea::service {
namespace {

// What may be corrected, and by which distribution it is calibrated. Humidity has none of its own: it is bounded on both sides,
// and follows from a calibrated temperature and dew point.
struct Correction {
  core::BiasRule rule;
  std::optional<core::EmosKind> emos;
};

const Correction* correction_of(std::size_t quantity) {
  using core::BiasKind, core::EmosKind;
  static const std::map<std::string_view, Correction> corrections{
      {"air_temperature", {{BiasKind::additive, 3}, EmosKind::normal}},
      {"dew_point_temperature", {{BiasKind::additive, 3}, EmosKind::normal}},
      {"relative_humidity", {{BiasKind::additive, 15}, std::nullopt}},
      {"wind_speed", {{BiasKind::multiplicative, 0.3}, EmosKind::above_zero}},
      {"wind_gust", {{BiasKind::multiplicative, 0.3}, EmosKind::above_zero}},
  };
  const auto found = corrections.find(core::catalogue()[quantity].key);
  return found == corrections.end() ? nullptr : &found->second;
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

}  // namespace

std::string_view season_word(int season) {
  constexpr std::array<std::string_view, 4> kSeasons{"dec-feb", "mar-may", "jun-aug", "sep-nov"};
  return kSeasons[static_cast<std::size_t>(season)];
}

std::optional<core::BiasRule> bias_rule(std::size_t quantity) {
  const Correction* correction = correction_of(quantity);
  return correction ? std::optional(correction->rule) : std::nullopt;
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

void ScoredHours::take(const Unit& unit, const UnitRun& run, const std::vector<core::UnitHours>& members,
                       const Observed& observed) {
  const UtcHour begin = std::max(members.front().first, std::max(run.first(), first_hour_from(run.reference_time)));
  for (auto at = observed.lower_bound(begin); at != observed.end() && at->first < members.front().end(); ++at) {
    const auto i = static_cast<std::size_t>(at->first - members.front().first);
    for (const auto& [quantity, value] : at->second) {
      const core::QuantityRow& row = core::catalogue()[quantity];
      std::vector<double> forecasts;
      for (const core::UnitHours& member : members)
        if (!member.columns[quantity].is_missing(i)) forecasts.push_back(static_cast<double>(member.columns[quantity][i]));
      if (forecasts.empty()) continue;
      // A mean of directions would need vectors: of an ensemble the first member's counts.
      if (row.is_direction) forecasts.resize(1);
      const auto [mean, variance] = core::mean_and_variance(forecasts);
      const auto pair = pair_of(row, mean, value, at->second);
      if (!pair) continue;
      Cell& cell = cells_[cell_of(unit, run.feed, quantity, run.reference_time, at->first)];
      cell.held.push_back({at->first, *pair, variance, core::crps_of_members(forecasts, value)});
      if (forecasts.size() < 2) continue;
      cell.fair_crps.push_back(core::fair_crps_of_members(forecasts, value));
      cell.spread.add(forecasts, value);
    }
  }
}

std::optional<Calibration> ScoredHours::calibration(const ScoreCell& cell, const std::vector<Held>& held) {
  const Correction* correction = correction_of(cell.quantity);
  if (!correction || !correction->emos || held.size() < core::kPairsForEmos) return std::nullopt;
  const bool is_full = held.size() >= core::kPairsForFullEmos;
  // What had been observed when the first of the newest third was foretold.
  const UtcHour newest_from = held[held.size() * 2 / 3].hour, known_before = newest_from - 24 * (cell.lead_days + 1);
  std::vector<core::EmosCase> all, known;
  for (const Held& one : held) {
    all.push_back({one.pair.forecast, one.variance, one.pair.observed});
    if (one.hour < known_before) known.push_back(all.back());
  }
  if (known.size() < core::kPairsForDecaying) return std::nullopt;
  const auto tried = core::fit_emos(known, *correction->emos, is_full);
  if (!tried) return std::nullopt;
  double fitted = 0, raw = 0, n = 0;
  for (const Held& one : held) {
    if (one.hour < newest_from) continue;
    fitted += core::calibrated(*tried, one.pair.forecast, one.variance).crps(one.pair.observed);
    raw += one.crps;
    n += 1;
  }
  if (!(fitted < raw)) return std::nullopt;
  const auto emos = core::fit_emos(all, *correction->emos, is_full);
  if (!emos) return std::nullopt;
  return Calibration{.emos = *emos, .crps = fitted / n, .of_raw = raw / n};
}

std::map<ScoreCell, ScoredCell> ScoredHours::scores() && {
  std::map<ScoreCell, ScoredCell> scores;
  for (auto& [key, cell] : cells_) {
    // By valid time, whichever run it was.
    std::stable_sort(cell.held.begin(), cell.held.end(), [](const Held& a, const Held& b) { return a.hour < b.hour; });
    std::vector<core::Pair> pairs;
    for (const Held& one : cell.held) pairs.push_back(one.pair);
    ScoredCell& scored = scores[key];
    scored.errors = core::errors_of(pairs);
    if (!cell.fair_crps.empty()) scored.crps = core::mean_and_variance(cell.fair_crps).mean;
    if (cell.spread.n() > 0) scored.spread = std::move(cell.spread);
    if (const auto rule = bias_rule(key.quantity)) scored.bias = core::estimate_bias(pairs, *rule);
    scored.calibration = calibration(key, cell.held);
  }
  return scores;
}

}  // namespace hakea::service
