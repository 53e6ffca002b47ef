// What a picture says that people may have to be told, and the events that follow.
//
// Facts are read off a picture by the service; words and numbers for people are put to the events there. Instants are UTC, an
// hour is named by its start, a span is [start, end).
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/alert/kinds.h"
#include "core/base/zone.h"
#include "core/days/day.h"

namespace hakea::core {

struct TimeSpan {
  UtcTime start{}, end{};
  bool operator==(const TimeSpan&) const = default;
};

struct DayFacts {
  LocalDate date{};
  Verdict verdict = Verdict::unknown;
  std::optional<TimeSpan> window;  // the best confirmed one
  bool is_tail_out = false;
  double smallest_margin = 0;  // forecast errors
  Confidence confidence = Confidence::early;
};

struct UnitFacts {
  std::string id, district;
  const TimeZone* zone = nullptr;
  bool is_confirmed = false;  // its prescription: an unconfirmed one raises no alerts
  std::string run;            // that the days rest on
  bool is_run_complete = false;
  int crews = 0;
  int notice_days = 0;
  std::optional<double> met_days_a_year;  // by past years
  std::vector<DayFacts> days;
};

struct WindTurn {
  UtcTime at{};
  double turn_deg = 0, wind_kmh = 0;  // of a change; or
  double from_deg = -1;               // the direction that left its sector, -1 where none did
};

// A unit booked for a date, until the window it was booked on is over.
struct BookingFacts {
  std::string id, unit;
  LocalDate date{};
  bool is_lit = false;              // then only its wind and its end are followed: its days are those of an open burn
  bool was_met = false;             // when it was booked
  std::optional<TimeSpan> briefed;  // the window it was booked on
  bool is_notice_given = false;
  std::optional<UtcTime> out_at;  // the first hour from now on within what was briefed in which an each-hour limit is out
  std::optional<WindTurn> turn;   // the first from light-up to 12 hours after, or out of sector to 3 hours after the window
  int smoky_night_hours = 0;      // of the night after: calm, and closed in or near saturation
  std::optional<double> rain_mm;  // of the known hours of the 24 before the window
  double rain_limit_mm = 2;
};

// Hours in a row that are dangerous to a burn that is alight.
struct DangerSpell {
  TimeSpan hours;
  int rank = 0;  // ascends with the class of the worst hour
};

struct OpenBurnFacts {
  std::string booking, unit, district;
  std::vector<DangerSpell> spells;  // of the next seven days, from now on, in order of time
};

struct FeedFacts {
  std::string id;
  bool is_late = false;        // stale: older than 1.5 cycles
  std::string published;       // newest published run; empty: none
  std::string incomplete_run;  // newer, past its time, and it lacks something; empty: none
};

struct DistrictFacts {
  std::string id;
  int crews = 0;                     // that are free to light
  const TimeZone* zone = nullptr;    // of its digest; null: it has none
  ClockTime digest_at{6 * 60 + 30};  // when a date's is told
};

struct AlertFacts {
  std::vector<UnitFacts> units;  // by id
  std::vector<BookingFacts> bookings;
  std::vector<OpenBurnFacts> burns;
  std::vector<FeedFacts> feeds;
  std::vector<DistrictFacts> districts;

  const UnitFacts* unit(const std::string& id) const;
  const DayFacts* day(const std::string& unit, LocalDate date) const;
};

struct AlertEvent {
  std::string id;   // 26 letters, ascends with the time; the same for the same key at the same time
  std::string key;  // what makes it one, its time included
  AlertKind kind = AlertKind::window_opened;
  std::string thread;  // what it is about, one thread of messages: "UNIT/DATE", "UNIT", "feed/FEED", …
  std::string unit, district, booking, feed, run;
  std::optional<LocalDate> date;
  UtcTime at{}, expires_at{};      // a message that comes later is worse than none
  std::optional<TimeSpan> hours;   // of the window or spell
  std::optional<TimeSpan> before;  // what was told of it last
  std::string says;                // the state of the thread from now on, to be compared
  std::optional<WindTurn> turn;
  std::optional<Confidence> confidence;
  std::vector<std::string> units;       // of a district's day
  std::optional<double> amount, limit;  // of rain in mm, of smoky hours, of crews
};

// ULID-shaped (Crockford's base 32): 48 bits of milliseconds and 80 bits hashed from the key.
std::string event_id(UtcTime at, const std::string& key);
// From 0 to 1 (exclusive), from a hash: what has to differ between messages and be the same again.
double share_of(const std::string& text);

}  // namespace hakea::core
