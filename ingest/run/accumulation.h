// Amounts and how files count them: per step, since the start of the run, since the last reset, or as a rate
// (atmosphere.md 7.3).
#pragma once

#include <vector>

#include "ingest/run/forecast_run.h"

namespace hakea::ingest {

// An amount (or energy) of an interval; value NaN where unknown.
struct IntervalAmount {
  UtcTime begin, end;
  double value;
};

// Amounts of intervals from numbers counted since a start. Successive numbers with the same begin are differenced; a fall
// of more than `noise` means a reset, after which the number itself is the amount; smaller falls are packing noise and
// count as zero. After a missing number the difference stands for the longer interval. A first number counts from its
// begin only where that lies before its end.
std::vector<IntervalAmount> differences(const std::vector<StepTime>& times, const std::vector<double>& counted, double noise);

// Evidence about a field, pair by pair of successive steps: how often a cell that held something falls.
class CountingEvidence {
 public:
  void add(const std::vector<double>& earlier, const std::vector<double>& later, double noise);
  // since_start where cells never fall, per_step where they do; `resets` where whole maps only rise except at some steps.
  struct Verdict {
    Accumulation counted;
    bool resets;
    bool certain;
  };
  Verdict verdict() const;

 private:
  std::size_t rising_maps_ = 0, falling_maps_ = 0, held_ = 0, fell_ = 0;
};

}  // namespace hakea::ingest
