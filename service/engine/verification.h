// Forecasts kept at the hours they were for, held against what was observed: by feed, lead, hour of day and season; and windows
// called against windows that came. Pure: the same runs and observations give the same tables, whatever came first.
#pragma once

#include <array>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/days/day.h"
#include "core/verify/calibration.h"
#include "core/verify/scores.h"
#include "service/engine/carried_days.h"

namespace hakea::service {

// How far back forecasts are verified [our own default]: a season's weather, and not the model of last year.
inline constexpr std::chrono::days kVerifiedDays{60};

// What is scored together, never over several leads.
struct ScoreCell {
  std::string feed;
  std::size_t quantity = 0;
  int lead_days = 0;    // whole days from the reference time
  int season = 0;       // of the local date: 0 December to February, 1 March to May, …
  int three_hours = 0;  // of the local day: 0 from 00:00 to 03:00, …
  auto operator<=>(const ScoreCell&) const = default;
};
std::string_view season_word(int season);

struct ScoredCell {
  core::MeanErrors errors;
  std::optional<double> crps;  // of ensembles: the mean, as if they had infinitely many members
  core::BiasEstimate bias;     // method `none` for quantities that are not corrected
};

// Days that one feed called so far ahead.
struct ScoredWindows {
  core::Contingency table;            // called: met; came: met on the observed hours. Days that either does not know are left out
  std::vector<core::Chance> chances;  // of ensembles: the share of members that called it
};

// Who saw what forecasts were held against.
struct Observer {
  std::string station, feed;    // empty: read on site; no feed: posted
  double km = 0, higher_m = 0;  // of a station: away, and above the unit; NaN where either height is not known
  std::size_t hours = 0;        // with any value of its own
};

struct Verification {
  UtcTime from{}, to{};             // of the observations
  std::vector<Observer> observers;  // the nearest first
  std::map<ScoreCell, ScoredCell> cells;
  std::map<std::pair<std::string, int>, ScoredWindows> windows;  // by feed and lead in days of the local calendar
};

// `rows` are of runs that foretell, oldest first, each taken up by `read` when its turn comes (null: it is left out); what was
// seen from one time to another counts, and pairs of hours that a run forecast. What was read on site comes before what stations
// saw. Errors: those of `read`.
using ReadRunOf = std::function<Result<UnitRunPtr>(const RunRow&)>;
Result<Verification> verify(const Unit& unit, const std::vector<RunRow>& rows, const ReadRunOf& read, const CarriedDays& carried,
                            ObservedWeather seen, UtcTime from, UtcTime to);

// Of the windows that a feed called so many days ahead, how many came; none before enough days were verified to say so.
std::optional<core::Agreement> windows_that_came(const Verification& verification, const std::string& feed, int lead_days);

// The cell of a forecast hour.
ScoreCell cell_of(const Unit& unit, std::string feed, std::size_t quantity, UtcTime reference_time, UtcHour hour);

// What may be taken off a quantity; none for those that are only scored.
std::optional<core::BiasRule> bias_rule(std::size_t quantity);

}  // namespace hakea::service
