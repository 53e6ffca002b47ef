// Rain days, and how long ago it rained.
//
// A rain day ends at 09:00 local standard time and is named by the date it ends on; an hour belongs to it by its start.
// The history joins what the carried state knows with the hours of the record.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "core/base/time.h"
#include "core/base/zone.h"
#include "core/weather/column.h"
#include "core/wetness/state.h"

namespace hakea::core {

struct RainRecord {
  const Column* hourly;  // mm
  UtcHour first;
  const TimeZone* zone;
  const std::optional<WetnessState>* before;  // may be null
};

// What an hour must bring to count as rain for hours_since_rain, and a rain day for days_since_rain.
inline constexpr double kRainHour = 0.2, kRainDay = 2.0;

// The hours [begin, end) of the record that belong to a rain day.
struct RainDaySpan {
  LocalDate day;
  std::size_t begin, end;
  bool has_start, has_end;  // whether the record reaches over the ends of the day
};
std::vector<RainDaySpan> rain_day_spans(UtcHour first, std::size_t hours, const TimeZone& zone);

class RainHistory {
 public:
  struct Day {
    double mm = 0;       // what is known to have fallen
    bool whole = false;  // nothing else can have fallen
  };

  // The record is built without days that have not ended by its end.
  explicit RainHistory(const RainRecord& record);

  bool empty() const { return days_.empty(); }
  LocalDate first_day() const { return first_; }
  LocalDate last_day() const { return first_ + std::chrono::days(static_cast<int>(days_.size()) - 1); }
  // Outside the history nothing is known.
  Day day(LocalDate date) const;
  // A person said when it last rained: what lies before it is not known, but long past.
  bool before_is_assumed() const { return before_is_assumed_; }

 private:
  void put(LocalDate date, Day day);

  LocalDate first_{};
  std::vector<Day> days_;
  bool before_is_assumed_ = false;
};

// Whole rain days since the last with at least `rain_mm` (0 on that day), standing from 09:00 local standard time. Where
// the history holds no such day: its length in whole rain days, flagged at_least. Missing (gap) after a rain day with
// missing hours and too little known rain, until the next such day.
Column days_since_rain(const RainRecord& record, double rain_mm = kRainDay);

// Hours from the end of the last hour with at least 0.2 mm to the start of each hour. Where there is none: the hours since
// which rain is known, flagged at_least.
Column hours_since_rain(const RainRecord& record);

}  // namespace hakea::core
