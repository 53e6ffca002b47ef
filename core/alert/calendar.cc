#include "core/alert/calendar.h"

#include <algorithm>
#include <array>

namespace hakea::core {
namespace {

// A client that merges by UID has to see that an entry was cancelled; after that it is of no use [our own default].
constexpr std::chrono::days kEntryKept{2};

constexpr std::array<std::string_view, 4> kCalendarWords{"window", "committed", "lost", "unknown"};

bool is_same_status(CalendarState a, CalendarState b) { return a == b || (is_cancelled(a) && is_cancelled(b)); }

bool has_same_words(const CalendarEntry& a, const CalendarEntry& b) {
  return a.state == b.state && a.title == b.title && a.text == b.text && a.place == b.place;
}

// Counts what changed.
CalendarEntry counted_after(const std::optional<CalendarEntry>& before, CalendarEntry next, UtcTime now) {
  next.sequence = before ? before->sequence : 0;
  next.changed_at = now;
  if (!before) return next;
  const bool is_moved = !(next.hours == before->hours) || !is_same_status(next.state, before->state);
  if (is_moved) ++next.sequence;
  if (!is_moved && has_same_words(next, *before)) {
    next.changed_at = before->changed_at;
    next.as_of = before->as_of;
  }
  next.changed_at = std::max(next.changed_at, before->changed_at);
  return next;
}

void take_words(CalendarEntry& entry, const CalendarDay& day) {
  entry.title = day.title;
  entry.text = day.text;
  entry.as_of = day.as_of;
  entry.place = day.place;
}

CalendarState standing_of(const CalendarDay& day) { return day.is_committed ? CalendarState::committed : CalendarState::window; }

// Whether the window of a day is what is left of the one that was shown.
bool is_rest_of(const CalendarDay& day, const CalendarEntry& shown) {
  return day.opens_now && shown.hours.start <= day.window->start && day.window->start < shown.hours.end;
}

CalendarEntry with_window(const std::optional<CalendarEntry>& before, const CalendarDay& day) {
  CalendarEntry entry;
  entry.date = day.date;
  entry.state = standing_of(day);
  entry.hours = *day.window;
  entry.light_until = day.light_until;
  entry.run_time = *day.run_time;
  take_words(entry, day);
  if (!before || is_cancelled(before->state) || !is_rest_of(day, *before)) return entry;
  entry.hours.start = before->hours.start;
  // What was written of the whole window holds while only time passes.
  if (entry.hours == before->hours && entry.run_time == before->run_time) {
    entry.title = before->title;
    entry.text = before->text;
    entry.place = before->place;
  }
  return entry;
}

CalendarEntry without_window(CalendarEntry entry, const CalendarDay& day) {
  const CalendarState state = day.verdict == Verdict::unknown ? CalendarState::unknown : CalendarState::lost;
  if (entry.state == state) return entry;  // why it went is told once
  entry.state = state;
  if (day.run_time) entry.run_time = std::max(entry.run_time, *day.run_time);
  take_words(entry, day);
  return entry;
}

}  // namespace

std::string_view word(CalendarState state) { return kCalendarWords.at(static_cast<std::size_t>(state)); }

std::optional<CalendarState> calendar_state_of(std::string_view word) {
  const auto found = std::find(kCalendarWords.begin(), kCalendarWords.end(), word);
  if (found == kCalendarWords.end()) return std::nullopt;
  return static_cast<CalendarState>(found - kCalendarWords.begin());
}

std::optional<CalendarEntry> next_entry(const std::optional<CalendarEntry>& before, const CalendarDay& day, LocalDate today,
                                        UtcTime now) {
  if (before && today > before->date + kEntryKept) return std::nullopt;
  if (day.is_lit) return before;
  const bool is_shown = before && !is_cancelled(before->state);
  // People forbid whatever the weather, and whichever run is at hand.
  if (is_shown && day.verdict == Verdict::blocked && now < before->hours.end)
    return counted_after(before, without_window(*before, day), now);
  const bool is_older = !day.run_time || (before && *day.run_time < before->run_time);
  if (!is_older && day.window) {
    // A run that lacks something may lose windows, but opens none.
    if (!is_shown && !day.is_run_complete) return before;
    return counted_after(before, with_window(before, day), now);
  }
  if (!before) return std::nullopt;
  if (!is_older && now < before->light_until) return counted_after(before, without_window(*before, day), now);
  // Nothing newer is known, or no hour is left to light in: it stays, but for what people decided.
  if (!is_shown) return before;
  CalendarEntry entry = *before;
  entry.state = standing_of(day);
  return counted_after(before, std::move(entry), now);
}

}  // namespace hakea::core
