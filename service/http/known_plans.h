// Proposals by what was asked of a picture, so that the same question is thought about once.
#pragma once

#include <map>
#include <mutex>
#include <string>

#include "service/engine/planner.h"

namespace hakea::service {

class KnownPlans {
 public:
  // The proposal for a wish, made where it is not known. Those of an older picture are forgotten with the first of a newer one;
  // what failed is asked again.
  Result<SharedProposal> get(const Snapshot& picture, const DistrictView& district, const PlanWish& wish,
                             const core::ProgramSolver& solver);

 private:
  std::mutex mutex_;
  std::uint64_t picture_ = 0;
  std::map<std::string, SharedProposal> plans_;
};

}  // namespace hakea::service
