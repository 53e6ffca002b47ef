#include "service/engine/lateness.h"

#include <spdlog/spdlog.h>

#include <utility>

#include "service/output/time_text.h"

namespace hakea::service {

void Lateness::tell(const std::vector<FeedView>& feeds, const std::vector<std::string>& late_runs) {
  for (const FeedView& feed : feeds) {
    if (!feed.newest_complete) continue;
    Freshness& told = told_.try_emplace(feed.id, Freshness::current).first->second;
    if (std::exchange(told, feed.freshness) == feed.freshness) continue;
    const std::string newest = utc_text(feed.newest_complete->reference_time);
    if (feed.freshness == Freshness::current)
      spdlog::info("feed {} is current again: the run of {} is there", feed.id, newest);
    else
      spdlog::warn("feed {} is {}: no complete run since that of {}; the next was expected at {}", feed.id, word(feed.freshness),
                   newest, feed.next_expected ? utc_text(*feed.next_expected) : "no known time");
  }
  for (const std::string& run : late_runs)
    if (runs_told_.insert(run).second) spdlog::warn("run {} is late and still incomplete; it is not used", run);
}

}  // namespace hakea::service
