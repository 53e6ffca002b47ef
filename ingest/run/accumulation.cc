#include "ingest/run/accumulation.h"

#include <algorithm>
#include <cmath>

namespace hakea::ingest {

std::vector<IntervalAmount> differences(const std::vector<StepTime>& times, const std::vector<double>& counted, double noise) {
  HAKEA_EXPECT(times.size() == counted.size());
  std::vector<IntervalAmount> amounts;
  std::size_t last = times.size();  // the last number known
  double level = 0;                 // the highest since the reset: small falls do not lower it
  for (std::size_t k = 0; k < times.size(); ++k) {
    if (std::isnan(counted[k])) continue;
    const bool follows = last < times.size() && times[last].begin == times[k].begin;
    if (!follows) {
      if (times[k].begin < times[k].end) amounts.push_back({times[k].begin, times[k].end, std::max(counted[k], 0.0)});
      level = counted[k];
    } else if (counted[k] < level - noise) {
      amounts.push_back({times[last].end, times[k].end, std::max(counted[k], 0.0)});
      level = counted[k];
    } else {
      amounts.push_back({times[last].end, times[k].end, std::max(counted[k] - level, 0.0)});
      level = std::max(level, counted[k]);
    }
    last = k;
  }
  return amounts;
}

void CountingEvidence::add(const std::vector<double>& earlier, const std::vector<double>& later, double noise) {
  std::size_t held = 0, fell = 0;
  for (std::size_t i = 0; i < std::min(earlier.size(), later.size()); ++i) {
    if (std::isnan(earlier[i]) || std::isnan(later[i]) || earlier[i] <= noise) continue;
    ++held;
    fell += later[i] < earlier[i] - noise;
  }
  held_ += held;
  fell_ += fell;
  constexpr std::size_t kMap = 50;  // cells that rise together by chance: never
  if (held >= kMap) (fell * 500 <= held ? rising_maps_ : falling_maps_) += 1;
}

CountingEvidence::Verdict CountingEvidence::verdict() const {
  if (held_ == 0) return {Accumulation::per_step, false, false};
  if (rising_maps_ > 0) return {Accumulation::since_start, falling_maps_ > 0, true};
  if (falling_maps_ > 0) return {Accumulation::per_step, false, true};
  // Few cells: a sum never falls; of separate amounts about half do.
  const double share = static_cast<double>(fell_) / static_cast<double>(held_);
  if (share < 0.02) return {Accumulation::since_start, false, held_ >= 4};
  if (share < 0.25 && held_ >= 12) return {Accumulation::since_start, true, true};
  return {Accumulation::per_step, false, true};
}

}  // namespace hakea::ingest
