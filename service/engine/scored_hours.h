// Forecast hours held against what was observed in them: by feed, quantity, lead, season and three hours of the local day.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/verify/calibration.h"
#include "core/verify/emos.h"
#include "core/verify/reliability.h"
#include "core/verify/scores.h"
#include "service/engine/unit_run.h"

namespace hakea::service {

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

// The cell of a forecast hour.
ScoreCell cell_of(const Unit& unit, std::string feed, std::size_t quantity, UtcTime reference_time, UtcHour hour);

// What forecasts say of their own error. It is at hand only where, fitted to the older pairs, it did better on the newest third
// of them, which it had not seen, than the forecasts as they were.
struct Calibration {
  core::Emos emos;              // of all pairs
  double crps = 0, of_raw = 0;  // mean CRPS on that third: of what was fitted, and of the members (of one its absolute error)
};

struct ScoredCell {
  core::MeanErrors errors;
  std::optional<double> crps;                   // of ensembles: the mean, as if they had infinitely many members
  std::optional<core::SpreadOfMembers> spread;  // of ensembles
  core::BiasEstimate bias;                      // method `none` for quantities that are not corrected
  std::optional<Calibration> calibration;
};

// What may be taken off a quantity; none for those that are only scored.
std::optional<core::BiasRule> bias_rule(std::size_t quantity);

// What was observed, by hour and quantity.
using Observed = std::map<UtcHour, std::map<std::size_t, double>>;

class ScoredHours {
 public:
  // The hours that a run foretold, by member of the first point, computed. Runs are taken oldest first.
  void take(const Unit& unit, const UnitRun& run, const std::vector<core::UnitHours>& members, const Observed& observed);
  std::map<ScoreCell, ScoredCell> scores() &&;

 private:
  struct Held {
    UtcHour hour;
    core::Pair pair;
    double variance = 0, crps = 0;  // of the members
  };
  struct Cell {
    std::vector<Held> held;
    std::vector<double> fair_crps;
    core::SpreadOfMembers spread;
  };
  static std::optional<Calibration> calibration(const ScoreCell& cell, const std::vector<Held>& held);

  std::map<ScoreCell, Cell> cells_;
};

}  // namespace hakea::service
