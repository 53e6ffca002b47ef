#include "core/days/date_limits.h"

#include <algorithm>
#include <bit>

#include "core/base/result.h"
#include "core/prescription/scopes.h"

namespace hakea::core {
namespace {

constexpr HourSet bit(int offset) { return HourSet{1} << offset; }
constexpr HourSet first_hours(int n) { return n >= 64 ? kAllHours : bit(n) - 1; }

void put(Sure& set, int offset, Fit fit) {
  if (fit != Fit::in) set.known &= ~bit(offset);
  if (fit == Fit::out) set.possible &= ~bit(offset);
}

}  // namespace

DateLimit limits_of_date(const LimitHours& hours, const DateHours& date, const UnitClock& clock, int now_index) {
  DateLimit result;
  const Limit& limit = hours.limit();
  const int origin = date.within_begin;
  const int size = date.within_end - origin;
  if (is_asked_of_stretch(limit)) {
    result.pairs.assign(static_cast<std::size_t>(size), Sure{});
    const bool is_mean = limit.scope == Scope::window_mean && !hours.quantity().is_direction;
    std::vector<Fit> fits;
    for (int s = 0; s < size; ++s) {
      if (is_mean) {
        hours.fits_of_means(origin + s, origin + size, fits);
        for (int e = s + 1; e <= size; ++e)
          put(result.pairs[static_cast<std::size_t>(s)], e, fits[static_cast<std::size_t>(e - s - 1)]);
        continue;
      }
      for (int e = s + 1; e <= size; ++e) {
        const bool is_count = limit.scope == Scope::each_hour;
        const int begin = origin + s, end = origin + e;
        put(result.pairs[static_cast<std::size_t>(s)], e,
            is_count ? hours.every_hour_fit(begin, end + limit.hours_after) : window_value(hours, begin, end).fit);
      }
    }
    return result;
  }
  switch (limit.scope) {
    case Scope::each_hour:
      for (int o = 0; o < size; ++o) put(result.hours, o, hours.fit(origin + o));
      if (limit.hours_after > 0)
        for (int e = 1; e <= size; ++e) put(result.ends, e, hours.every_hour_fit(origin + e, origin + e + limit.hours_after));
      break;
    case Scope::at_start:
      for (int s = 0; s < size; ++s) put(result.starts, s, hours.fit(origin + s));
      break;
    case Scope::before:
      for (int s = 0; s < size; ++s) {
        if (s > 0 && limit.days > 0) {  // the dates before do not depend on the start
          result.starts.known = result.starts.known & 1 ? kAllHours : 0;
          result.starts.possible = result.starts.possible & 1 ? kAllHours : 0;
          break;
        }
        put(result.starts, s, start_value(hours, date, clock, origin + s).fit);
      }
      break;
    case Scope::same_day: result.day = day_value(hours, date, now_index).fit; break;
    case Scope::night_after:
    case Scope::days_after:
      for (int e = 1; e <= size; ++e) {
        const auto [from, to] = tail_hours(limit, date, clock, origin + e);
        put(result.tail, e, hours.quantity().nature == Nature::amount ? hours.sum(from, to).fit : hours.every_hour_fit(from, to));
      }
      break;
    default: break;
  }
  return result;
}

Sure hours_kept(const LimitHours& hours, const DateLimit& on_date, const DateHours& date) {
  const Limit& limit = hours.limit();
  const int size = date.within_end - date.within_begin;
  const HourSet all = first_hours(std::max(size, 0));
  const auto all_or_none = [&](bool is_known, bool is_possible) { return Sure{is_known ? all : 0, is_possible ? all : 0}; };
  if (limit.scope == Scope::same_day) return all_or_none(on_date.day == Fit::in, on_date.day != Fit::out);
  if (is_tail(limit)) {
    const HourSet ends = first_hours(size + 1) & ~HourSet{1};
    return all_or_none((on_date.tail.known & ends) != 0, (on_date.tail.possible & ends) != 0);
  }
  if (limit.scope == Scope::at_start || limit.scope == Scope::before)
    return {on_date.starts.known & all, on_date.starts.possible & all};
  Sure kept{all, all};
  for (int o = 0; o < size; ++o) put(kept, o, hours.fit(date.within_begin + o));
  return kept;
}

DateLimits date_limits(std::span<const LimitHours> limits, const DateHours& date, const UnitClock& clock, int now_index,
                       int record_hours) {
  DateLimits result{.date = date, .size = date.within_end - date.within_begin, .usable = 0, .recorded = 0, .limits = {}};
  HAKEA_EXPECT(result.size <= 60);
  const HourSet all = first_hours(std::max(result.size, 0));
  result.usable = all & ~first_hours(std::clamp(now_index - date.within_begin, 0, 64));
  result.recorded = result.usable & first_hours(std::clamp(record_hours - date.within_begin, 0, 64)) &
                    ~first_hours(std::clamp(-date.within_begin, 0, 64));
  result.limits.reserve(limits.size());
  for (const LimitHours& limit : limits) result.limits.push_back(limits_of_date(limit, date, clock, now_index));
  return result;
}

std::vector<Stretch> stretches(const DateLimits& date, const Question& question) {
  HourSet hours = question.certainty == Certainty::known ? date.recorded : date.usable;
  HourSet starts = first_hours(std::clamp(date.date.last_start - date.date.within_begin + 1, 0, 64));
  HourSet ends = kAllHours;
  bool has_pairs = false;
  for (const DateLimit* limit : question.limits) {
    hours &= limit->hours(question.certainty);
    starts &= limit->starts(question.certainty);
    ends &= limit->ends(question.certainty);
    has_pairs |= !limit->pairs.empty();
  }
  const auto allowed_ends = [&](int start) {
    HourSet allowed = ends;
    if (has_pairs)
      for (const DateLimit* limit : question.limits)
        if (!limit->pairs.empty()) allowed &= limit->pairs[static_cast<std::size_t>(start)](question.certainty);
    return allowed;
  };
  std::vector<Stretch> found;
  while (hours) {
    const int begin = std::countr_zero(hours);
    const int end = begin + std::countr_one(hours >> begin);
    hours &= ~first_hours(end);
    Stretch best{begin, begin};
    for (int s = begin; s < end && end - s > best.hours(); ++s) {
      if (!(starts & bit(s))) continue;
      const HourSet reachable = allowed_ends(s) & first_hours(end + 1) & ~first_hours(s + 1);
      const int e = reachable ? 63 - std::countl_zero(reachable) : s;
      if (e - s > best.hours()) best = {s, e};
    }
    if (best.hours() >= std::max(question.min_hours, 1)) found.push_back(best);
  }
  return found;
}

bool keeps_day(const Question& question) {
  return std::all_of(question.limits.begin(), question.limits.end(), [&](const DateLimit* limit) {
    return limit->day == Fit::in || (limit->day == Fit::unknown && question.certainty == Certainty::possible);
  });
}

bool keeps_tail(const Question& question, int end_offset) {
  return std::all_of(question.limits.begin(), question.limits.end(),
                     [&](const DateLimit* limit) { return (limit->tail(question.certainty) & bit(end_offset)) != 0; });
}

}  // namespace hakea::core
