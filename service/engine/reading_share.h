// How much of a run has been read: the values that came, of those that its plan promises. Points outside the grid never come, so
// a run may be done with less than all.
#pragma once

#include <algorithm>
#include <functional>

#include "ingest/run/forecast_run.h"

namespace hakea::service {

// Told from 0 to 1, as often as it grows by a hundredth.
using TellShare = std::function<void(double share)>;

class ReadingShare {
 public:
  ReadingShare(std::size_t points, TellShare tell) : points_(points), tell_(std::move(tell)) {}

  void on_plan(const ingest::RunPlan& plan) {
    came_ = told_ = promised_ = 0;
    for (std::size_t f = 0; f < plan.fields.size(); ++f) {
      const auto has_step = [](const ingest::StepTime& time) { return time.end != UtcTime::min(); };
      const auto steps = std::count_if(plan.field_times[f].begin(), plan.field_times[f].end(), has_step);
      const std::size_t members = std::max<std::size_t>(plan.fields[f].member_of.size(), 1);
      const std::size_t levels = core::describe(plan.fields[f].fed).on_levels ? plan.levels_hpa.size() : 1,
                        points = plan.near.empty() ? points_ : plan.stations.size();
      promised_ += static_cast<double>(steps) * static_cast<double>(members * levels * points);
    }
    if (tell_) tell_(0);
  }
  void on_slab(const ingest::Slab& slab) {
    came_ += static_cast<double>(slab.values.size());
    const double share = promised_ > 0 ? std::min(came_ / promised_, 1.0) : 0;
    if (!tell_ || share < told_ + 0.01) return;
    told_ = share;
    tell_(share);
  }

 private:
  std::size_t points_;
  TellShare tell_;
  double promised_ = 0, came_ = 0, told_ = 0;
};

}  // namespace hakea::service
