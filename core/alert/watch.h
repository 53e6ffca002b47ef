// From what a picture says and what was told before to what is to be told now: the events, without regard to who hears them.
//
// Pure. It compares with the last told state, not with the last picture, so that nothing is missed by a restart and a slow drift
// is not hidden. Rules, ours [D] where nothing else is said:
//   opened   met in two complete runs, or in one at most a day ahead, or in one with every margin beyond the forecast error;
//            at most five days ahead
//   changed  an edge moved by an hour or more, in two complete runs or at most a day ahead; or it became surer than it was told
//   lost     one complete run in which it is out, near miss or blocked, before it begins; unknown neither opens nor loses
//   booked   what is booked loses its window by an incomplete run too
//   rare     a window that is open, two to five days ahead and likely, of a unit with five met days a year or fewer
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/alert/facts.h"

namespace hakea::core {

struct WindowMemory {
  std::string run;  // the last complete one that was counted
  int met_runs = 0, moved_runs = 0;
  bool is_open = false;  // as told
  TimeSpan told;
  Confidence surest = Confidence::early;  // as told
  bool operator==(const WindowMemory&) const = default;
};

struct BookingMemory {
  LocalDate date{};
  std::optional<TimeSpan> briefed;  // as it was booked: another briefing is another booking
  bool is_armed = false, is_lost = false, is_smoke_told = false, is_rain_told = false;
  std::optional<UtcTime> turn_told, end_told;
  bool operator==(const BookingMemory&) const = default;
};

struct SpellTold {
  TimeSpan hours;
  int rank = 0;
  bool operator==(const SpellTold&) const = default;
};

struct FeedMemory {
  bool is_late = false;
  std::string published, incomplete_run;
  bool operator==(const FeedMemory&) const = default;
};

// What was told. Keys: "UNIT/DATE" of windows and notices, ids of bookings and feeds, "DISTRICT/DATE" of crews and digests.
struct WatchMemory {
  std::map<std::string, WindowMemory> windows;
  std::map<std::string, BookingMemory> bookings;
  std::map<std::string, std::vector<SpellTold>> spells;  // by booking
  std::map<std::string, FeedMemory> feeds;
  std::map<std::string, LocalDate> notices, crews, rares, digests;
};

// The events of now; `memory` becomes what is told from now on.
std::vector<AlertEvent> watch(WatchMemory& memory, const AlertFacts& facts, UtcTime now);

}  // namespace hakea::core
