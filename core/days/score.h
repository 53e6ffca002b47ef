// How well a stretch of hours suits a unit: fit with its addends, failing preferences and the tail (INTERFACE §3 "Fit").
#pragma once

#include <vector>

#include "core/days/judge.h"

namespace hakea::core {

struct Score {
  double fit = 0;           // in [0, 1], two decimals
  double margin = 0;        // smallest margin of any stop or hard limit, in forecast errors
  std::vector<Part> parts;  // they add up to fit before rounding
  std::vector<Note> notes;
  Tail tail;
};

// `stretch` by offset on the judge's first date. A short stretch counts its share of the duration, halved.
Score score(const Record& record, const Judge& judge, Stretch stretch, Certainty certainty, bool is_short);

}  // namespace hakea::core
