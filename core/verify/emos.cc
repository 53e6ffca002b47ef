#include "core/verify/emos.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/base/numbers.h"
#include "core/verify/minimum.h"

namespace hakea::core {
namespace {

// The share of a distribution above zero below which it says nothing of what is never below.
constexpr double kLeastAbove = 1e-6;
// Of a spread found from errors that are all alike.
constexpr double kLeastDeviation = 1e-3;
// At which the mean CRPS is the least to a few millionths.
constexpr double kTolerance = 1e-4;

double normal_density(double z) { return std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi); }
double normal_below(double z) { return std::erfc(-z / std::numbers::sqrt2) / 2; }

double mean_crps(std::span<const EmosCase> cases, const Emos& emos) {
  double sum = 0;
  for (const EmosCase& one : cases) sum += calibrated(emos, one.mean, one.variance).crps(one.observed);
  return sum / static_cast<double>(cases.size());
}

}  // namespace

double crps_of_cut_normal(double location, double deviation, double observed) {
  const double above = normal_below(location / deviation);
  if (!(above > kLeastAbove)) return kNaN;
  const double z = (observed - location) / deviation;
  return deviation / (above * above) *
         (z * above * (2 * normal_below(z) + above - 2) + 2 * normal_density(z) * above -
          std::numbers::inv_sqrtpi * normal_below(std::numbers::sqrt2 * location / deviation));
}

double CalibratedForecast::mean() const {
  if (kind == EmosKind::normal) return location;
  const double above = normal_below(location / deviation);
  return above > kLeastAbove ? location + deviation * normal_density(location / deviation) / above : 0;
}

double CalibratedForecast::standard_deviation() const {
  if (kind == EmosKind::normal) return deviation;
  const double beyond = location / deviation, above = normal_below(beyond);
  if (!(above > kLeastAbove)) return 0;
  const double pull = normal_density(beyond) / above;  // the variance of a normal distribution cut off on one side
  return deviation * std::sqrt(std::max(0.0, 1 - pull * (pull + beyond)));
}

double CalibratedForecast::crps(double observed) const {
  return kind == EmosKind::normal ? crps_of_normal(location, deviation, observed)
                                  : crps_of_cut_normal(location, deviation, std::max(observed, 0.0));
}

CalibratedForecast calibrated(const Emos& emos, double mean, double variance) {
  const double deviation = std::sqrt(emos.c * emos.c + emos.d * emos.d * variance);
  return {emos.kind, emos.a + emos.b * mean, std::max(deviation, kLeastDeviation)};
}

std::optional<Emos> fit_emos(std::span<const EmosCase> cases, EmosKind kind, bool is_full) {
  if (cases.empty()) return std::nullopt;
  const auto n = static_cast<double>(cases.size());
  double middle = 0, bias = 0, squares = 0, variance = 0;
  for (const EmosCase& one : cases) {
    const double error = one.mean - one.observed;
    middle += one.mean / n;
    bias += error / n;
    squares += error * error / n;
    variance += one.variance / n;
  }
  const double rest = std::sqrt(std::max(squares - bias * bias, 0.0));
  if (!std::isfinite(rest)) return std::nullopt;
  const double spread = std::max(rest, 0.1);

  // Looked for: the shift at the mean forecast, c, and of a full one the roots of b and d, so that neither is below zero.
  const auto emos_at = [&](std::span<const double> at) {
    Emos emos{.kind = kind, .n = cases.size()};
    emos.c = std::abs(at[1]);
    if (at.size() > 2) emos.b = at[2] * at[2];
    if (at.size() > 3) emos.d = at[3] * at[3];
    emos.a = at[0] + (1 - emos.b) * middle;
    return emos;
  };
  std::vector<double> start{-bias, spread}, steps{spread / 2, spread / 3};
  if (is_full) {
    start.push_back(1), steps.push_back(0.2);
    if (variance > 0) start.push_back(1), steps.push_back(0.3);
  }
  const Minimum least = minimum_of([&](std::span<const double> at) { return mean_crps(cases, emos_at(at)); }, start, steps,
                                   {.tolerance = kTolerance});
  if (!std::isfinite(least.value)) return std::nullopt;
  return emos_at(least.at);
}

}  // namespace hakea::core
