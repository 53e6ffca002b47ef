#include "core/verify/scores.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <vector>

#include "core/base/numbers.h"
#include "core/base/result.h"

namespace hakea::core {
namespace {

double quotient(double a, double b) { return b == 0 ? kNaN : a / b; }

double mean_distance(std::span<const double> members, double observed) {
  double sum = 0;
  for (const double x : members) sum += std::abs(x - observed);
  return sum / static_cast<double>(members.size());
}

// The sum of |x - y| over all ordered pairs of members, by their ranks.
double sum_of_differences(std::span<const double> members) {
  std::vector<double> sorted(members.begin(), members.end());
  std::sort(sorted.begin(), sorted.end());
  const auto m = static_cast<double>(sorted.size());
  double sum = 0;
  for (std::size_t i = 0; i < sorted.size(); ++i) sum += 2 * (2 * static_cast<double>(i + 1) - m - 1) * sorted[i];
  return sum;
}

}  // namespace

MeanErrors errors_of(std::span<const Pair> pairs) {
  MeanErrors result{pairs.size(), kNaN, kNaN, kNaN};
  if (pairs.empty()) return result;
  double sum = 0, absolute = 0, squares = 0;
  for (const Pair& pair : pairs) {
    const double error = pair.forecast - pair.observed;
    sum += error;
    absolute += std::abs(error);
    squares += error * error;
  }
  const auto n = static_cast<double>(pairs.size());
  return {pairs.size(), sum / n, absolute / n, std::sqrt(squares / n)};
}

double direction_error(double forecast_deg, double observed_deg) {
  const double turn = std::remainder(forecast_deg - observed_deg, 360.0);
  return turn == -180 ? 180 : turn;
}

MeanAndVariance mean_and_variance(std::span<const double> members) {
  if (members.empty()) return {kNaN, kNaN};
  const auto n = static_cast<double>(members.size());
  double sum = 0, squares = 0;
  for (const double x : members) sum += x;
  for (const double x : members) squares += (x - sum / n) * (x - sum / n);
  return {sum / n, n > 1 ? squares / (n - 1) : 0};
}

double crps_of_members(std::span<const double> members, double observed) {
  if (members.empty()) return kNaN;
  const auto m = static_cast<double>(members.size());
  return mean_distance(members, observed) - sum_of_differences(members) / (2 * m * m);
}

double fair_crps_of_members(std::span<const double> members, double observed) {
  if (members.size() < 2) return kNaN;
  const auto m = static_cast<double>(members.size());
  return mean_distance(members, observed) - sum_of_differences(members) / (2 * m * (m - 1));
}

double crps_of_weighted(std::span<const double> members, std::span<const double> weights, double observed) {
  HAKEA_EXPECT(members.size() == weights.size());
  double total = 0, distance = 0, difference = 0;
  for (std::size_t i = 0; i < members.size(); ++i) {
    total += weights[i];
    distance += weights[i] * std::abs(members[i] - observed);
    for (std::size_t k = 0; k < members.size(); ++k) difference += weights[i] * weights[k] * std::abs(members[i] - members[k]);
  }
  return quotient(distance, total) - quotient(difference, 2 * total * total);
}

double crps_of_normal(double mean, double standard_deviation, double observed) {
  if (!(standard_deviation > 0)) return std::abs(observed - mean);
  const double z = (observed - mean) / standard_deviation;
  const double density = std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi);
  const double below = std::erfc(-z / std::numbers::sqrt2) / 2;
  return standard_deviation * (z * (2 * below - 1) + 2 * density - std::numbers::inv_sqrtpi);
}

Brier brier_of(std::span<const Chance> chances) {
  Brier result{chances.size(), kNaN, kNaN, kNaN, kNaN, kNaN};
  if (chances.empty()) return result;
  struct Bin {
    double n = 0, happened = 0;
  };
  std::map<double, Bin> bins;
  double squares = 0, happened = 0;
  for (const Chance& chance : chances) {
    const double outcome = chance.happened ? 1 : 0;
    squares += (chance.probability - outcome) * (chance.probability - outcome);
    happened += outcome;
    Bin& bin = bins[chance.probability];
    bin.n += 1;
    bin.happened += outcome;
  }
  const auto n = static_cast<double>(chances.size());
  const double frequency = happened / n;
  double reliability = 0, resolution = 0;
  for (const auto& [probability, bin] : bins) {
    const double observed = bin.happened / bin.n;
    reliability += bin.n * (probability - observed) * (probability - observed);
    resolution += bin.n * (observed - frequency) * (observed - frequency);
  }
  result.score = squares / n;
  result.reliability = reliability / n;
  result.resolution = resolution / n;
  result.uncertainty = frequency * (1 - frequency);
  result.skill = 1 - quotient(result.score, result.uncertainty);
  return result;
}

double ranked_probability_score(std::span<const double> chances, std::size_t observed_class) {
  double cumulated = 0, sum = 0;
  for (std::size_t k = 0; k < chances.size(); ++k) {
    cumulated += chances[k];
    const double difference = cumulated - (k >= observed_class ? 1 : 0);
    sum += difference * difference;
  }
  return sum;
}

ContingencyScores scores_of(const Contingency& table) {
  const double a = table.hits, b = table.false_alarms, c = table.misses, d = table.correct_negatives, n = table.n();
  const double by_chance = quotient((a + b) * (a + c), n);
  const double correct_by_chance = quotient((a + b) * (a + c) + (b + d) * (c + d), n);
  ContingencyScores s{};
  s.hit_rate = quotient(a, a + c);
  s.false_alarm_ratio = quotient(b, a + b);
  s.false_alarm_rate = quotient(b, b + d);
  s.threat_score = quotient(a, a + b + c);
  s.frequency_bias = quotient(a + b, a + c);
  s.proportion_correct = quotient(a + d, n);
  s.peirce_skill = s.hit_rate - s.false_alarm_rate;
  s.equitable_threat = quotient(a - by_chance, a + b + c - by_chance);
  s.heidke_skill = quotient(a + d - correct_by_chance, n - correct_by_chance);
  s.odds_ratio = quotient(a * d, b * c);
  s.odds_ratio_skill = quotient(a * d - b * c, a * d + b * c);
  const double f = s.false_alarm_rate, h = s.hit_rate;
  const double numerator = std::log(f) - std::log(h) - std::log(1 - f) + std::log(1 - h);
  const double denominator = std::log(f) + std::log(h) + std::log(1 - f) + std::log(1 - h);
  const double dependence = quotient(numerator, denominator);
  s.extremal_dependence = std::isfinite(dependence) ? dependence : kNaN;
  return s;
}

double relative_value(const Contingency& table, double cost_loss_ratio) {
  const double n = table.n();
  const double climate = quotient(table.hits + table.misses, n);
  const double expense_of_calls = quotient((table.hits + table.false_alarms) * cost_loss_ratio + table.misses, n);
  const double expense_of_climate = std::min(cost_loss_ratio, climate), expense_of_perfect = cost_loss_ratio * climate;
  return quotient(expense_of_climate - expense_of_calls, expense_of_climate - expense_of_perfect);
}

ShareSpan wilson_95(double count, double of) {
  if (!(of > 0)) return {kNaN, kNaN};
  constexpr double z = 1.959963984540054;  // the normal's 97.5 % quantile
  const double p = count / of, widened = 1 + z * z / of;
  const double middle = (p + z * z / (2 * of)) / widened;
  const double half = z / widened * std::sqrt(p * (1 - p) / of + z * z / (4 * of * of));
  return {std::max(0.0, middle - half), std::min(1.0, middle + half)};
}

}  // namespace hakea::core
