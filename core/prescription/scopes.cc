#include "core/prescription/scopes.h"

#include <algorithm>

namespace hakea::core {

StretchValue start_value(const LimitHours& hours, const DateHours& date, const UnitClock& clock, int start) {
  const Limit& limit = hours.limit();
  if (limit.scope == Scope::at_start)
    return {.fit = hours.fit(start),
            .value = hours.value(start),
            .at = start,
            .margin = hours.margin(start),
            .why = hours.why(start)};
  const bool by_date = limit.days > 0;
  const int begin = by_date ? clock.date(date.date - std::chrono::days(limit.days)).begin : start - limit.hours;
  const int end = by_date ? date.begin : start;
  return hours.quantity().nature == Nature::amount ? hours.sum(begin, end) : hours.every_hour(begin, end);
}

bool is_asked_of_stretch(const Limit& limit) {
  return limit.scope == Scope::window_mean || limit.scope == Scope::window_min || limit.scope == Scope::window_max ||
         (limit.scope == Scope::each_hour && limit.allow_hours > 0);
}

StretchValue window_value(const LimitHours& hours, int begin, int end) {
  switch (hours.limit().scope) {
    case Scope::window_mean: return hours.mean(begin, end);
    case Scope::window_min: return hours.smallest(begin, end);
    case Scope::window_max: return hours.largest(begin, end);
    default: return hours.every_hour(begin, end + hours.limit().hours_after);
  }
}

StretchValue day_value(const LimitHours& hours, const DateHours& date, int now_index) {
  const Nature nature = hours.quantity().nature;
  if (nature == Nature::daily || nature == Nature::daily_noon) {
    const int determined = nature == Nature::daily ? date.determined_nine : date.determined_noon;
    return hours.every_hour(determined, determined + 1);
  }
  return nature == Nature::amount ? hours.sum(date.begin, date.end, now_index)
                                  : hours.every_hour(date.begin, date.end, now_index);
}

bool is_tail(const Limit& limit) { return limit.scope == Scope::night_after || limit.scope == Scope::days_after; }

std::pair<int, int> tail_hours(const Limit& limit, const DateHours& date, const UnitClock& clock, int end) {
  if (limit.scope == Scope::days_after) return {end, clock.date(date.date + std::chrono::days(limit.days)).end};
  const NightHours night = clock.night_after(end);
  return {std::max(end, night.begin), night.end};
}

StretchValue tail_value(const LimitHours& hours, const DateHours& date, const UnitClock& clock, int end) {
  const auto [from, to] = tail_hours(hours.limit(), date, clock, end);
  return hours.quantity().nature == Nature::amount ? hours.sum(from, to) : hours.every_hour(from, to);
}

}  // namespace hakea::core
