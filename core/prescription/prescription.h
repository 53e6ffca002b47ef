// A prescription as data: the written set of conditions under which a unit may be burnt (INTERFACE §3).
//
// Parsing and checking of what people write stands in service/input; here everything is known to be well formed: catalogue
// indices exist, ranges are not reversed, durations are positive.
#pragma once

#include <bitset>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/base/time.h"
#include "core/base/zone.h"

namespace hakea::core {

enum class Kind : std::uint8_t { stop, hard, preference };
enum class Scope : std::uint8_t {
  each_hour,
  at_start,
  window_mean,
  window_min,
  window_max,
  before,
  same_day,
  night_after,
  days_after
};

std::string_view word(Kind kind);
std::string_view word(Scope scope);

struct Bound {
  double value = 0;
  bool open = false;  // `below`/`above`: an equal value is out
};

struct Range {
  std::optional<Bound> lower, upper;
  bool is_empty() const { return !lower && !upper; }
};

// Clockwise from `from` to `to`, ends included.
struct Sector {
  double from = 0, to = 0;
};

struct Limit {
  std::size_t quantity = 0;  // catalogue index
  Scope scope = Scope::each_hour;
  Kind kind = Kind::hard;
  Range acceptable, preferred;
  std::vector<Sector> sectors;  // instead of a range
  int hours = 0;                // before: the hours that end at the start
  int days = 0;                 // before: local dates; days_after: dates
  int hours_after = 0;          // each_hour: must also hold this long after the window
  int allow_hours = 0;          // kept while at most this many hours of the scope are outside
  double rain_mm = 2;           // days_since_rain: what counts as rain
};

struct ClockSpan {
  ClockTime from{0}, to{24 * 60};  // `to` at or before `from` is on the next date
};

// Days of a year, both included; wraps over the year's end when from is after to.
struct SeasonSpan {
  std::chrono::month_day from, to;
};

struct ClosedSpan {
  LocalDate from, to;  // both included
  std::string why;
};

struct Prescription {
  std::vector<Limit> limits;
  std::optional<ClockSpan> within;  // left out: the local day
  std::optional<ClockTime> latest_start;
  double duration_h = 1;
  int consecutive_days = 1;
  std::bitset<7> weekdays = 0b1111111;  // bit 0 = Monday
  bool holidays_pass = true;
  std::vector<SeasonSpan> seasons;
  std::vector<ClosedSpan> closed;
  double wind_for_direction_kmh = 5;
  double points_share = 1;
  bool confirmed = false;
};

}  // namespace hakea::core
