// Scores of forecasts against what was observed.
//
// Pairs are of one quantity and of one unit of measure, so plain numbers stand here. A pair with a missing number is left out
// by who makes the pairs; where a score has nothing to divide by it is NaN, never 0.
#pragma once

#include <cstddef>
#include <span>

namespace hakea::core {

struct Pair {
  double forecast = 0, observed = 0;
};

// Mean error (forecast minus observed), mean absolute and root mean square error.
struct MeanErrors {
  std::size_t n = 0;
  double bias, mae, rmse;
};
MeanErrors errors_of(std::span<const Pair> pairs);

// The smaller turn from the observed to the forecast direction, in (-180, 180].
double direction_error(double forecast_deg, double observed_deg);

// --- ensembles ---

// Of members; the variance as of a sample (over n - 1), of a single one 0. NaN of none.
struct MeanAndVariance {
  double mean = 0, variance = 0;
};
MeanAndVariance mean_and_variance(std::span<const double> members);

// --- ensembles: continuous ranked probability score, in the unit of the quantity, 0 is perfect ---

// Mean |x - y| minus half the mean difference of two members (Gneiting & Raftery 2007, J. Am. Stat. Assoc. 102, 359-378,
// eq. 21). Of one member the absolute error.
double crps_of_members(std::span<const double> members, double observed);
// As if the ensemble had infinitely many members (Ferro 2014, Q. J. R. Meteorol. Soc. 140, 1917-1923): may be 0 or negative;
// NaN of one member.
double fair_crps_of_members(std::span<const double> members, double observed);
// Members of different weight; the weights are divided by their sum.
double crps_of_weighted(std::span<const double> members, std::span<const double> weights, double observed);
// Of a normal distribution (Gneiting et al. 2005, Mon. Wea. Rev. 133, 1098-1118, eq. 5).
double crps_of_normal(double mean, double standard_deviation, double observed);

// --- probabilities ---

struct Chance {
  double probability = 0;
  bool happened = false;
};

// Brier score and its parts, score = reliability - resolution + uncertainty (Murphy 1973, J. Appl. Meteor. 12, 595-600): exact
// because every distinct probability is a bin of its own. `skill` is against the frequency of the sample.
struct Brier {
  std::size_t n = 0;
  double score, reliability, resolution, uncertainty, skill;
};
Brier brier_of(std::span<const Chance> chances);

// Ranked probability score of ordered classes: sum of squared differences of the cumulated chances.
double ranked_probability_score(std::span<const double> chances, std::size_t observed_class);

// --- called or not, verified or not ---

// Counts of a two by two table: hits, false alarms, misses, correctly not called.
struct Contingency {
  double hits = 0, false_alarms = 0, misses = 0, correct_negatives = 0;

  void count(bool called, bool verified) {
    (called ? (verified ? hits : false_alarms) : (verified ? misses : correct_negatives)) += 1;
  }
  Contingency& operator+=(const Contingency& other) {
    hits += other.hits, false_alarms += other.false_alarms, misses += other.misses;
    correct_negatives += other.correct_negatives;
    return *this;
  }
  double n() const { return hits + false_alarms + misses + correct_negatives; }
};

// Wilks (2011), Statistical Methods in the Atmospheric Sciences, 3rd ed., ch. 8.2; SEDI: Ferro & Stephenson (2011), Wea.
// Forecasting 26, 699-713, eq. 2.
struct ContingencyScores {
  double hit_rate;           // probability of detection
  double false_alarm_ratio;  // of those called
  double false_alarm_rate;   // of those that did not happen
  double threat_score;       // critical success index
  double frequency_bias;     // called over verified
  double proportion_correct;
  double peirce_skill;      // hit rate minus false alarm rate
  double equitable_threat;  // Gilbert skill score
  double heidke_skill;
  double odds_ratio, odds_ratio_skill;
  double extremal_dependence;  // symmetric extremal dependence index
};
ContingencyScores scores_of(const Contingency& table);

// What acting on the calls is worth to a user who pays `cost` to act and loses `loss` without, beside acting on the climate
// alone (0) and on perfect calls (1). Richardson (2000), Q. J. R. Meteorol. Soc. 126, 649-667. `cost_loss_ratio` in (0, 1).
double relative_value(const Contingency& table, double cost_loss_ratio);

// The span in which a share lies with 95 % confidence (Wilson 1927, J. Am. Stat. Assoc. 22, 209-212).
struct ShareSpan {
  double low, high;
};
ShareSpan wilson_95(double count, double of);

}  // namespace hakea::core
