// Where a function of a few numbers is least, without its derivatives: the simplex of Nelder & Mead (1965), Computer J. 7,
// 308-313, with their coefficients (reflection 1, expansion 2, contraction and shrinking 1/2). The same function and start give
// the same answer. Our own, since core/ sees no library and the search is shorter than the door to one would be.
#pragma once

#include <functional>
#include <span>
#include <vector>

namespace hakea::core {

struct Minimum {
  std::vector<double> at;
  double value = 0;
};

// When the search is over: its corners differ by so little, as a share of the value and of `steps`, or so many values were
// taken.
struct SearchEnd {
  double tolerance = 1e-6;
  int most_values = 400;
};

// `steps`: how far from `start` the other corners lie at first, none of them 0. Where the function is no number it is never
// least; at `start` it must be one.
Minimum minimum_of(const std::function<double(std::span<const double>)>& function, const std::vector<double>& start,
                   const std::vector<double>& steps, const SearchEnd& end = {});

}  // namespace hakea::core
