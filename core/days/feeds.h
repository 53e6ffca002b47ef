// The days of several feeds side by side (INTERFACE §3 "Members and feeds").
//
// Values of different feeds are never averaged: each feed is judged alone, the first in order that covers a date gives the
// day, agreement is reported, and for the tail, where harm is done, the worse counts.
#pragma once

#include <string>
#include <vector>

#include "core/days/evaluate.h"

namespace hakea::core {

struct FeedDays {
  std::string feed, run;
  std::vector<Day> days;
};

// In configured order. Ranked.
std::vector<Day> join_feeds(const std::vector<FeedDays>& feeds);

}  // namespace hakea::core
