// The days of a unit beside what each feed says of them (INTERFACE §3 "Members and feeds").
//
// Values of different feeds are never averaged. The days are judged on the main series, in which each hour comes from one
// feed (its tails heed the other feeds, DayInput::other_feeds); each feed that covers a day's window is judged alone too, and
// feeds that disagree lower the confidence.
#pragma once

#include <string>
#include <vector>

#include "core/days/evaluate.h"

namespace hakea::core {

// What one feed says when it is judged alone.
struct FeedJudgement {
  struct OnDate {
    LocalDate date{};
    Verdict verdict = Verdict::unknown, weather = Verdict::unknown;
  };
  std::string feed, run;
  UtcHour first, end;  // the hours it has
  std::vector<OnDate> dates;
};

FeedJudgement judged_alone(std::string feed, std::string run, UtcHour first, UtcHour end, const std::vector<Day>& all);

// The days with the verdicts of the feeds, in configured order, that have every hour of a day's best-fitting window (without
// a window: of its best short stretch; without either: any day of that date). Ranked.
std::vector<Day> join_feeds(std::vector<Day> all, const std::vector<FeedJudgement>& feeds);

}  // namespace hakea::core
