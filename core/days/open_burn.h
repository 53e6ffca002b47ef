// What is coming to a unit that has been lit and is not out yet: day by day for a week, held against the tail of its
// prescription until the burn is closed.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "core/days/day.h"
#include "core/prescription/prescription.h"

namespace hakea::core {

inline constexpr int kBurnDaysAhead = 7;

struct WorstHour {
  float value = 0;
  UtcHour at;
};

// The wind turns far enough, in wind enough, to make a flank a head.
struct WindChange {
  float turn_deg = 0, wind_kmh = 0;
  UtcHour at;
};
// Common practice, no source.
inline constexpr double kWindTurn_deg = 45;  // from here on a flank becomes a head
bool is_wind_change(double turn_deg, double wind_kmh);

struct BurnDay {
  LocalDate date{};
  std::optional<WorstHour> ffdi, gust, humidity;  // the worst of its hours; none where every hour is missing
  std::optional<WindChange> change;               // the one in most wind
  std::optional<double> rain_mm;                  // of its known hours, none where there is none
  int missing_hours = 0;                          // in which one of the first three is missing
  TailVerdict tail = TailVerdict::none;
  std::vector<TailValue> broken;  // tail limits that are out
};

// The worst of the hours from `first` to before `end`, of all points and members; of rain the least, and the most that are
// missing. Without a date and a tail.
BurnDay worst_between(std::span<const std::vector<UnitHours>> points, UtcHour first, UtcHour end);

// The local dates of the next seven days, from `now` on. points[point][member], computed; the worst of all of them counts,
// of rain the least; without any nothing is known. A limit of the days after is asked of each date, one of the night after of the
// night that follows it.
std::vector<BurnDay> burn_days(const UnitTraits& unit, const Prescription& prescription,
                               std::span<const std::vector<UnitHours>> points, UtcTime now);

// The same for the week as a whole: each worst of its days. Tail: out where any day is, unknown where any is.
BurnDay worst_of(const std::vector<BurnDay>& all);

}  // namespace hakea::core
