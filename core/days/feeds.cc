#include "core/days/feeds.h"

#include <algorithm>

#include "core/days/confidence.h"

namespace hakea::core {
namespace {

const Window* shown_window(const Day& day) {
  const Window* best = best_window(day);
  return best ? best : day.short_stretch ? &*day.short_stretch : nullptr;
}

}  // namespace

FeedJudgement judged_alone(std::string feed, std::string run, UtcHour first, UtcHour end, const std::vector<Day>& all) {
  FeedJudgement judged{std::move(feed), std::move(run), first, end, {}};
  for (const Day& day : all) judged.dates.push_back({day.date, day.verdict, day.weather});
  return judged;
}

std::vector<Day> join_feeds(std::vector<Day> all, const std::vector<FeedJudgement>& feeds) {
  for (Day& day : all) {
    const Window* window = shown_window(day);
    Agreement agreement;
    for (const FeedJudgement& feed : feeds) {
      const auto theirs = std::find_if(feed.dates.begin(), feed.dates.end(), [&](const auto& on) { return on.date == day.date; });
      if (theirs == feed.dates.end() || (window && (window->start < feed.first || window->end > feed.end))) continue;
      day.feeds.push_back({.feed = feed.feed, .run = feed.run, .verdict = theirs->verdict});
      // A feed that does not know, say because it ends within the tail, does not disagree.
      if (says_nothing(theirs->weather)) continue;
      ++agreement.of;
      agreement.same += theirs->weather == day.weather;
    }
    day.rests_on.feeds = agreement;
    day.confidence = confidence_of(day.rests_on);
  }
  rank_days(all);
  return all;
}

}  // namespace hakea::core
