#include "core/verify/minimum.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/base/result.h"

namespace hakea::core {
namespace {

using Corner = Minimum;

// `from` moved away from `centre`: 0 at the centre, -1 on its other side, as far.
std::vector<double> moved_from(const std::vector<double>& centre, const std::vector<double>& from, double factor) {
  std::vector<double> at(centre.size());
  for (std::size_t i = 0; i < at.size(); ++i) at[i] = centre[i] + factor * (from[i] - centre[i]);
  return at;
}

bool is_small(const std::vector<Corner>& corners, const std::vector<double>& steps, double tolerance) {
  const Corner &best = corners.front(), &worst = corners.back();
  if (!(worst.value - best.value <= tolerance * (std::abs(best.value) + tolerance))) return false;
  for (const Corner& corner : corners)
    for (std::size_t i = 0; i < steps.size(); ++i)
      if (std::abs(corner.at[i] - best.at[i]) > std::sqrt(tolerance) * std::abs(steps[i])) return false;
  return true;
}

}  // namespace

Minimum minimum_of(const std::function<double(std::span<const double>)>& function, const std::vector<double>& start,
                   const std::vector<double>& steps, const SearchEnd& end) {
  HAKEA_EXPECT(!start.empty() && start.size() == steps.size());
  const std::size_t n = start.size();
  int values = 0;
  const auto corner = [&](std::vector<double> at) {
    ++values;
    const double value = function(at);
    return Corner{std::move(at), std::isnan(value) ? std::numeric_limits<double>::infinity() : value};
  };
  std::vector<Corner> corners{corner(start)};
  for (std::size_t i = 0; i < n; ++i) {
    std::vector<double> at = start;
    at[i] += steps[i];
    corners.push_back(corner(std::move(at)));
  }
  const auto by_value = [](const Corner& a, const Corner& b) { return a.value < b.value; };
  for (;;) {
    std::stable_sort(corners.begin(), corners.end(), by_value);
    if (is_small(corners, steps, end.tolerance) || values >= end.most_values) return corners.front();
    std::vector<double> centre(n, 0);
    for (std::size_t k = 0; k < n; ++k)
      for (std::size_t i = 0; i < n; ++i) centre[i] += corners[k].at[i] / static_cast<double>(n);
    Corner& worst = corners.back();
    Corner reflected = corner(moved_from(centre, worst.at, -1));
    if (reflected.value < corners.front().value) {
      Corner expanded = corner(moved_from(centre, worst.at, -2));
      worst = expanded.value < reflected.value ? std::move(expanded) : std::move(reflected);
    } else if (reflected.value < corners[n - 1].value) {
      worst = std::move(reflected);
    } else {
      if (reflected.value < worst.value) worst = std::move(reflected);
      Corner contracted = corner(moved_from(centre, worst.at, 0.5));
      if (contracted.value <= worst.value) {
        worst = std::move(contracted);
      } else {
        for (std::size_t k = 1; k <= n; ++k) corners[k] = corner(moved_from(corners.front().at, corners[k].at, 0.5));
      }
    }
  }
}

}  // namespace hakea::core
