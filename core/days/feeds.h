// The days of several feeds side by side (INTERFACE §3 "Members and feeds").
//
// Values of different feeds are never averaged: each feed is judged alone, agreement is reported, and for the tail, where
// harm is done, the worse counts.
#pragma once

#include <string>
#include <vector>

#include "core/days/evaluate.h"

namespace hakea::core {

// What one feed alone says.
struct FeedDays {
  std::string feed, run;
  std::vector<Day> days;
  std::optional<UtcHour> end;  // where its hours end; none: it covers all it has days for
};

// `main`: the days of the main series, each hour of which comes from the first feed that has it. Each is given the verdict of
// every feed, in configured order, that covers its best window, or that has the date where there is none. A tail that is
// out in one of them is out. Ranked.
std::vector<Day> join_feeds(std::vector<Day> main, const std::vector<FeedDays>& feeds);

// Without a main series: the first feed that has a date gives the day.
std::vector<Day> join_feeds(const std::vector<FeedDays>& feeds);

}  // namespace hakea::core
