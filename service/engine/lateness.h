// Telling in the log, once each, what does not come in time.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "service/engine/snapshot.h"

namespace hakea::service {

class Lateness {
 public:
  // Feeds whose next run does not come, and that it came after all; `late_runs` are incomplete after their time and not used.
  void tell(const std::vector<FeedView>& feeds, const std::vector<std::string>& late_runs);

 private:
  std::map<std::string, Freshness> told_;  // by feed
  std::set<std::string> runs_told_;
};

}  // namespace hakea::service
