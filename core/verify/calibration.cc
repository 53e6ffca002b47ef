#include "core/verify/calibration.h"

#include <algorithm>
#include <cmath>

namespace hakea::core {
namespace {

constexpr double kWeight = 0.05;         // of the newest error in the decaying average
constexpr double kShrinkage = 15;        // pairs at which half of a mean error is believed
constexpr double kDeviationsAtMost = 4;  // median absolute deviations

double median(std::vector<double> values) {
  const std::size_t half = values.size() / 2;
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(half), values.end());
  const double upper = values[half];
  if (values.size() % 2 == 1) return upper;
  return (upper + *std::max_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(half))) / 2;
}

double mean(std::span<const double> values) {
  double sum = 0;
  for (const double v : values) sum += v;
  return sum / static_cast<double>(values.size());
}

}  // namespace

std::string_view word(BiasMethod method) {
  switch (method) {
    case BiasMethod::none: return "none";
    case BiasMethod::mean: return "mean";
    case BiasMethod::decaying: return "decaying";
  }
  return "";
}

double decaying_average(std::span<const double> errors, double weight, bool warm_up) {
  double bias = 0;
  for (std::size_t n = 0; n < errors.size(); ++n) {
    const double w = warm_up ? std::max(weight, 1 / static_cast<double>(n + 1)) : weight;
    bias = (1 - w) * bias + w * errors[n];
  }
  return bias;
}

std::vector<double> winsorised(std::vector<double> values) {
  if (values.empty()) return values;
  const double middle = median(values);
  std::vector<double> distances;
  for (const double v : values) distances.push_back(std::abs(v - middle));
  const double reach = kDeviationsAtMost * median(std::move(distances));
  if (reach > 0)
    for (double& v : values) v = std::clamp(v, middle - reach, middle + reach);
  return values;
}

double effective_number(std::span<const double> values) {
  const auto n = static_cast<double>(values.size());
  if (values.size() < 3) return n;
  const double middle = mean(values);
  double variance = 0, covariance = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    variance += (values[i] - middle) * (values[i] - middle);
    if (i > 0) covariance += (values[i] - middle) * (values[i - 1] - middle);
  }
  if (!(variance > 0)) return 1;
  const double r1 = covariance / variance;
  return std::clamp(n * (1 - r1) / (1 + r1), 1.0, n);
}

BiasEstimate estimate_bias(std::span<const Pair> pairs, const BiasRule& rule) {
  // Of a wind the logarithm of its ratio, so that twice and half weigh the same; a calm has none.
  std::vector<double> errors;
  for (const Pair& pair : pairs) {
    if (rule.kind == BiasKind::additive)
      errors.push_back(pair.forecast - pair.observed);
    else if (pair.forecast > 0 && pair.observed > 0)
      errors.push_back(std::log(pair.forecast / pair.observed));
  }
  const auto in_unit = [&](double error) { return rule.kind == BiasKind::additive ? error : std::exp(error); };
  BiasEstimate estimate{.method = BiasMethod::none, .n = errors.size(), .bias = in_unit(0), .effective_n = 0};
  estimate.effective_n = effective_number(errors);
  if (errors.size() < kPairsForBias) return estimate;
  const std::vector<double> tamed = winsorised(errors);
  if (errors.size() < kPairsForDecaying) {
    const auto n = static_cast<double>(errors.size());
    const double shrunk = mean(tamed) * n / (n + kShrinkage);
    estimate.method = BiasMethod::mean;
    estimate.bias = rule.kind == BiasKind::additive ? std::clamp(shrunk, -rule.at_most, rule.at_most)
                                                    : std::clamp(std::exp(shrunk), 1 - rule.at_most, 1 + rule.at_most);
    return estimate;
  }
  estimate.method = BiasMethod::decaying;
  estimate.bias = in_unit(decaying_average(tamed, kWeight));
  return estimate;
}

double corrected(double forecast, const BiasEstimate& bias, const BiasRule& rule) {
  if (bias.method == BiasMethod::none) return forecast;
  return rule.kind == BiasKind::additive ? forecast - bias.bias : forecast / bias.bias;
}

}  // namespace hakea::core
