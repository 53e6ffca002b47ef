#include "core/days/feeds.h"

#include <algorithm>
#include <map>

namespace hakea::core {
namespace {

// A tail that is out in one feed is out: the day is not met, whatever the first feed says.
void take_worse_tail(Day& day, const Day& other) {
  if (other.tail.verdict != TailVerdict::out || day.tail.verdict == TailVerdict::out || day.tail.verdict == TailVerdict::none)
    return;
  day.tail = other.tail;
  if (day.weather == Verdict::met || day.weather == Verdict::unknown || day.weather == Verdict::near_miss) {
    day.weather = Verdict::out;
    day.limiting = other.limiting;
  }
  if (day.verdict != Verdict::blocked) day.verdict = day.weather;
}

}  // namespace

std::vector<Day> join_feeds(const std::vector<FeedDays>& feeds) {
  std::map<LocalDate, Day> by_date;
  for (const FeedDays& feed : feeds)
    for (const Day& theirs : feed.days) {
      Day& day = by_date.try_emplace(theirs.date, theirs).first->second;
      day.feeds.push_back({.feed = feed.feed, .run = feed.run, .verdict = theirs.verdict});
    }
  for (const FeedDays& feed : feeds)
    for (const Day& theirs : feed.days) take_worse_tail(by_date.at(theirs.date), theirs);
  std::vector<Day> joined;
  for (auto& [date, day] : by_date) {
    const bool feeds_differ = std::any_of(day.feeds.begin(), day.feeds.end(),
                                          [&](const FeedVerdict& f) { return f.verdict != day.feeds.front().verdict; });
    if (feeds_differ && day.confidence != Confidence::early)
      day.confidence = static_cast<Confidence>(static_cast<int>(day.confidence) + 1);
    joined.push_back(std::move(day));
  }
  rank_days(joined);
  return joined;
}

}  // namespace hakea::core
