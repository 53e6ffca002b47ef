// What a calendar shows of a unit on a date: one entry, which stays the same entry while its window moves, goes and comes back.
//
// Its sequence rises by one when its times or its status change, and never falls (RFC 5545 §3.8.7.4, RFC 5546 §2.1.4); words
// alone change only when it was changed. The step from an entry to the next gives the same entry again for the same day, so that
// a picture may be seen twice, or again after a restart.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "core/alert/facts.h"

namespace hakea::core {

enum class CalendarState : std::uint8_t {
  window,     // forecast, and no more than that
  committed,  // forecast, and somebody committed a booking to the date
  lost,       // there was a window; weather or people took it
  unknown,    // there was a window; whether there is one now is not known
};
std::string_view word(CalendarState state);
std::optional<CalendarState> calendar_state_of(std::string_view word);
// Nothing that is lost or not known may look like a window.
constexpr bool is_cancelled(CalendarState state) { return state == CalendarState::lost || state == CalendarState::unknown; }

struct CalendarEntry {
  LocalDate date{};
  CalendarState state = CalendarState::window;
  TimeSpan hours;         // of the window; of a cancelled one as they were last
  UtcTime light_until{};  // from then on no hour is left to light in
  UtcTime run_time{};     // reference time of the run that it rests on
  int sequence = 0;
  UtcTime changed_at{};
  std::string title;  // the unit
  std::string text;   // why, and on what it rests
  std::string as_of;  // how old the forecast was when this was written: by itself no change
  std::string place;  // latitude;longitude
  bool operator==(const CalendarEntry&) const = default;
};

// What a picture says of the date.
struct CalendarDay {
  LocalDate date{};
  Verdict verdict = Verdict::unknown;
  std::optional<TimeSpan> window;  // of a met day: the best one
  UtcTime light_until{};
  bool opens_now = false;           // hours that are over do not count: the window may have begun before
  std::optional<UtcTime> run_time;  // none where the picture has no forecast of the date
  bool is_run_complete = true;
  bool is_committed = false;  // a booking is, to this date
  bool is_lit = false;        // or was; what was planned for it stays as it was
  std::string title, text, as_of, place;
};

// The entry that follows from the one before and what a picture of that time says; none where there is nothing to show, or no
// more. `today` is the unit's local date.
std::optional<CalendarEntry> next_entry(const std::optional<CalendarEntry>& before, const CalendarDay& day, LocalDate today,
                                        UtcTime now);

}  // namespace hakea::core
