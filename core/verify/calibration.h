// When there are enough pairs to say something, and what a forecast would be without its measured bias.
//
// How many pairs it takes [our own defaults, none published]: under 15 nothing is corrected; from 15 the mean error, drawn
// towards none by n / (n + 15) and held to a few units; from 30 the decaying average of the newest errors; emos.h takes
// more. A corrected value is shown beside the raw one: it never decides, and where it would, that is said.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "core/verify/scores.h"

namespace hakea::core {

inline constexpr std::size_t kPairsForBias = 15, kPairsForDecaying = 30;
// What rests on shares of whole windows is shown from so many cases on.
inline constexpr std::size_t kCasesForWindowShare = 100;
// Wind directions are scored from this observed speed on.
inline constexpr double kWindForDirectionKmh = 10.8;  // 3 m/s

// What of an error is taken off: an amount, or for winds a factor, so that a corrected wind never falls below zero.
enum class BiasKind : std::uint8_t { additive, multiplicative };

// How far a correction from few pairs may go: an amount in the quantity's unit, or a share of the factor 1.
struct BiasRule {
  BiasKind kind = BiasKind::additive;
  double at_most = 0;
};

enum class BiasMethod : std::uint8_t { none, mean, decaying };
std::string_view word(BiasMethod method);

struct BiasEstimate {
  BiasMethod method = BiasMethod::none;
  std::size_t n = 0;
  double bias = 0;         // forecast minus observed, in the quantity's unit; of a factor: forecast over observed
  double effective_n = 0;  // pairs that follow each other are not independent
};

// From pairs in order of valid time.
BiasEstimate estimate_bias(std::span<const Pair> pairs, const BiasRule& rule);
// The forecast without it; as it was where none is known.
double corrected(double forecast, const BiasEstimate& bias, const BiasRule& rule);

// B_t = (1 - w) B_(t-1) + w (f - o), from B = 0 (Cui et al. 2012, Wea. Forecasting 27, 396-410 [from memory]). The weight is at
// least 1 / (n + 1) while the record is short, unless `warm_up` is off.
double decaying_average(std::span<const double> errors, double weight, bool warm_up = true);

// Values further than four median absolute deviations from the median, moved there.
std::vector<double> winsorised(std::vector<double> values);

// n (1 - r1) / (1 + r1), r1 the correlation of a value with the next (Wilks 2011, ch. 5.2.4 [from memory]); between 1 and n.
double effective_number(std::span<const double> values);

}  // namespace hakea::core
