// Forecasts kept at the hours they were for, held against what was observed; and windows called against windows that came. Pure:
// the same runs and observations give the same tables, whatever came first.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/days/day.h"
#include "service/engine/carried_days.h"
#include "service/engine/scored_hours.h"

namespace hakea::service {

// How far back forecasts are verified [our own default]: a season's weather, and not the model of last year.
inline constexpr std::chrono::days kVerifiedDays{60};

// Days that one feed called so far ahead. Of a day on which a run was issued only those issued before its light-up hours count.
struct ScoredWindows {
  core::Contingency table;            // called: met; came: met on the observed hours. Days that either does not know are left out
  std::vector<core::Chance> chances;  // of ensembles: the share of members that called it
};

using WindowsByFeed = std::map<std::pair<std::string, int>, ScoredWindows>;  // and by lead in days of the local calendar

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
  WindowsByFeed windows;
  // Limits of what nobody measured, by their place in the prescription. No day could be said to have come by these, but many not
  // to: called and came are days by the other limits alone.
  std::vector<std::size_t> left_aside;
};

// `rows` are of runs that foretell, oldest first, each taken up by `read` when its turn comes (null: it is left out); what was
// seen from one time to another counts, and pairs of hours that a run forecast. What was read on site comes before what stations
// saw. Errors: those of `read`.
using ReadRunOf = std::function<Result<UnitRunPtr>(const RunRow&)>;
Result<Verification> verify(const Unit& unit, const std::vector<RunRow>& rows, const ReadRunOf& read, const CarriedDays& carried,
                            ObservedWeather seen, UtcTime from, UtcTime to);

// Of the windows that a feed called so many days ahead, how many came; none before enough days were verified to say so.
std::optional<core::Agreement> windows_that_came(const Verification& verification, const std::string& feed, int lead_days);

// The windows of several units together.
WindowsByFeed together(const std::vector<const Verification*>& units);

}  // namespace hakea::service
