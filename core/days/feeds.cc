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

// Whether the feed reaches to the end of what the day is about.
bool covers(const FeedDays& feed, const Day& day) {
  if (!feed.end || day.windows.empty()) return true;
  const auto best = std::max_element(day.windows.begin(), day.windows.end(), [](const Window& a, const Window& b) {
    return std::pair(!a.unconfirmed, a.fit) < std::pair(!b.unconfirmed, b.fit);
  });
  return best->end <= *feed.end;
}

}  // namespace

std::vector<Day> join_feeds(std::vector<Day> main, const std::vector<FeedDays>& feeds) {
  for (Day& day : main) {
    for (const FeedDays& feed : feeds)
      for (const Day& theirs : feed.days)
        if (theirs.date == day.date && covers(feed, day)) {
          day.feeds.push_back({.feed = feed.feed, .run = feed.run, .verdict = theirs.verdict});
          take_worse_tail(day, theirs);
        }
    const bool feeds_differ = std::any_of(day.feeds.begin(), day.feeds.end(),
                                          [&](const FeedVerdict& f) { return f.verdict != day.feeds.front().verdict; });
    if (feeds_differ && day.confidence != Confidence::early)
      day.confidence = static_cast<Confidence>(static_cast<int>(day.confidence) + 1);
  }
  rank_days(main);
  return main;
}

std::vector<Day> join_feeds(const std::vector<FeedDays>& feeds) {
  std::map<LocalDate, Day> by_date;
  for (const FeedDays& feed : feeds)
    for (const Day& day : feed.days) by_date.try_emplace(day.date, day);
  std::vector<Day> first;
  for (auto& [date, day] : by_date) first.push_back(std::move(day));
  return join_feeds(std::move(first), feeds);
}

}  // namespace hakea::core
