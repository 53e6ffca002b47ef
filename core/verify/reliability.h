// Whether chances that were given mean what they say, and whether members lie as far apart as they err.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "core/verify/scores.h"

namespace hakea::core {

// A bin of a reliability diagram is left out below so many cases [our own default].
inline constexpr std::size_t kCasesOfBin = 10;

// Of the cases whose chance lies in [from, to), and of the last bin in [from, to]: the mean chance given, the share in which it
// happened, and where that share lies in nine samples of ten if chances mean what they say (binomial; after the consistency
// bars of Broecker & Smith 2007, Wea. Forecasting 22, 651-661 [from memory]).
struct ReliabilityBin {
  double from = 0, to = 0;
  std::size_t n = 0;
  double given = 0, happened = 0;
  double low = 0, high = 0;
};

// Ten bins of equal width; only those with enough cases.
std::vector<ReliabilityBin> reliability_of(std::span<const Chance> chances);

// The least k of a binomial distribution of n trials of which at most k succeed with a chance of `quantile` or more.
std::size_t binomial_quantile(std::size_t n, double chance, double quantile);

// How members of ensembles stand to what was observed, gathered case by case.
class SpreadOfMembers {
 public:
  // Cases of fewer than two members have no spread and do not count.
  void add(std::span<const double> members, double observed);

  std::size_t n() const { return n_; }
  // How often so many members lay below what was observed, from none to all of them: alike where the ensemble is right, high at
  // both ends where it spreads too little (Hamill 2001, Mon. Wea. Rev. 129, 550-560 [from memory]). Where members equal it, the
  // case is shared evenly among the ranks that it may have. Empty where cases had different numbers of members.
  const std::vector<double>& ranks() const { return ranks_; }
  // Root of the mean of (m+1)/m times the members' variance, over the root mean square error of their mean: about 1 where they
  // lie as far apart as they err, less where they spread too little (Fortin et al. 2014, J. Hydrometeor. 15, 1708-1713 [from
  // memory]). NaN without an error.
  double ratio() const;

 private:
  std::size_t n_ = 0;
  double variance_ = 0, squared_error_ = 0;  // sums
  std::vector<double> ranks_;
};

}  // namespace hakea::core
