#include "core/verify/reliability.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/base/numbers.h"

namespace hakea::core {
namespace {

constexpr std::size_t kBins = 10;

}  // namespace

std::size_t binomial_quantile(std::size_t n, double chance, double quantile) {
  if (chance <= 0) return 0;
  if (chance >= 1) return n;
  double log_ways = 0, below = 0;  // of choosing k of n; the chance of at most k
  for (std::size_t k = 0; k < n; ++k) {
    below += std::exp(log_ways + static_cast<double>(k) * std::log(chance) + static_cast<double>(n - k) * std::log1p(-chance));
    if (below >= quantile) return k;
    log_ways += std::log(static_cast<double>(n - k) / static_cast<double>(k + 1));
  }
  return n;
}

std::vector<ReliabilityBin> reliability_of(std::span<const Chance> chances) {
  std::array<ReliabilityBin, kBins> bins;
  for (std::size_t b = 0; b < kBins; ++b) {
    bins[b].from = static_cast<double>(b) / kBins;
    bins[b].to = static_cast<double>(b + 1) / kBins;
  }
  for (const Chance& chance : chances) {
    // The last whose beginning is not above it: 0.3 as a quotient of members may lie a little below 0.3 as a tenth.
    std::size_t b = kBins - 1;
    while (b > 0 && chance.probability < bins[b].from - 1e-9) --b;
    bins[b].n += 1;
    bins[b].given += chance.probability;
    bins[b].happened += chance.happened ? 1 : 0;
  }
  std::vector<ReliabilityBin> shown;
  for (ReliabilityBin& bin : bins) {
    if (bin.n < kCasesOfBin) continue;
    const auto n = static_cast<double>(bin.n);
    bin.given /= n;
    bin.happened /= n;
    bin.low = static_cast<double>(binomial_quantile(bin.n, bin.given, 0.05)) / n;
    bin.high = static_cast<double>(binomial_quantile(bin.n, bin.given, 0.95)) / n;
    shown.push_back(bin);
  }
  return shown;
}

void SpreadOfMembers::add(std::span<const double> members, double observed) {
  const std::size_t m = members.size();
  if (m < 2) return;
  const auto count = static_cast<double>(m);
  std::size_t below = 0, equal = 0;
  for (const double x : members) {
    if (x < observed) ++below;
    if (x == observed) ++equal;
  }
  const auto [mean, variance] = mean_and_variance(members);
  variance_ += (count + 1) / count * variance;
  squared_error_ += (mean - observed) * (mean - observed);
  if (n_ == 0) ranks_.assign(m + 1, 0);
  ++n_;
  if (ranks_.size() != m + 1) return ranks_.clear();
  for (std::size_t rank = below; rank <= below + equal; ++rank) ranks_[rank] += 1 / static_cast<double>(equal + 1);
}

double SpreadOfMembers::ratio() const { return squared_error_ > 0 ? std::sqrt(variance_ / squared_error_) : kNaN; }

}  // namespace hakea::core
