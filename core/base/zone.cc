#include "core/base/zone.h"

#include <algorithm>

#include "core/base/result.h"

namespace hakea {

TimeZone::TimeZone(std::string name, std::vector<Period> periods)
    : name_(std::move(name)), table_(std::make_shared<const std::vector<Period>>(std::move(periods))) {
  HAKEA_EXPECT(!table_->empty());
}

TimeZone TimeZone::fixed(std::string name, std::chrono::seconds offset) {
  return TimeZone(std::move(name), {{UtcTime::min(), offset, offset}});
}

const TimeZone::Period& TimeZone::period_at(UtcTime t) const {
  const auto& periods = *table_;
  const auto after =
      std::upper_bound(periods.begin(), periods.end(), t, [](UtcTime when, const Period& p) { return when < p.begin; });
  return after == periods.begin() ? *after : *(after - 1);
}

UtcTime TimeZone::instant(LocalDate date, ClockTime clock) const {
  const auto& periods = *table_;
  const std::chrono::seconds wall = LocalTime(date).time_since_epoch() + clock;
  // Candidates in order of time: the first period in which this clock time exists is the first of a repeated one. A clock
  // time that falls between two periods is skipped by the change and means the change itself.
  const auto from = std::upper_bound(periods.begin(), periods.end(), UtcTime(wall) - std::chrono::days(2),
                                     [](UtcTime when, const Period& p) { return when < p.begin; });
  for (auto p = from == periods.begin() ? from : from - 1;; ++p) {
    const UtcTime candidate(wall - p->offset);
    const bool is_last = p + 1 == periods.end();
    if (candidate < p->begin && p != periods.begin()) return p->begin;
    if (is_last || candidate < (p + 1)->begin) return candidate;
  }
}

UtcTime TimeZone::standard_instant(LocalDate date, ClockTime standard_clock) const {
  const std::chrono::seconds wall = LocalTime(date).time_since_epoch() + standard_clock;
  return UtcTime(wall - standard_offset_at(UtcTime(wall)));
}

LocalDate TimeZone::rain_day(UtcTime t) const {
  const LocalTime standard(t.time_since_epoch() + standard_offset_at(t));
  return std::chrono::floor<std::chrono::days>(standard - std::chrono::hours(9)) + std::chrono::days(1);
}

}  // namespace hakea
