#include "core/prescription/unit_clock.h"

#include <algorithm>

#include "core/weather/sun.h"

namespace hakea::core {

using std::chrono::days;

UnitClock::UnitClock(const UnitTraits& unit, const Prescription& prescription, UtcHour first, std::size_t hours)
    : unit_(&unit), prescription_(&prescription), first_(first) {
  const UtcTime begin = first.start(), end = (first + static_cast<int>(hours)).start();
  first_night_ = unit.zone.date(begin) - days(2);
  for (LocalDate date = first_night_; date <= unit.zone.date(end) + days(3); date += days(1)) dates_.push_back(hours_of(date));
  nights_.resize(dates_.size());
}

DateHours UnitClock::hours_of(LocalDate date) const {
  const TimeZone& zone = unit_->zone;
  DateHours result{.date = date, .begin = index_from(zone.day_begin(date)), .end = index_from(zone.day_begin(date + days(1)))};
  result.within_begin = result.begin;
  result.within_end = result.end;
  ClockTime opens(0);
  if (const auto& within = prescription_->within) {
    opens = within->from;
    const LocalDate closing_date = within->to <= within->from ? date + days(1) : date;
    result.within_begin = index_from(zone.instant(date, within->from));
    result.within_end = std::max(result.within_begin, index_ended(zone.instant(closing_date, within->to)));
  }
  result.last_start = result.within_end;
  if (const auto& latest = prescription_->latest_start) {
    const LocalDate latest_date = *latest < opens ? date + days(1) : date;
    result.last_start = hours_end_by(zone.instant(latest_date, *latest)) - first_;
  }
  result.determined_nine = index_from(zone.rain_day_end(date));
  result.determined_noon = index_from(zone.standard_instant(date, std::chrono::hours(12)));
  return result;
}

NightHours UnitClock::night_after(int end) const {
  const UtcTime ends_at = (first_ + end).start();
  // The sun's date is that of its longitude, the unit's that of its zone: they may be a date apart, and a night ends on the next.
  const auto before = (unit_->zone.date(ends_at) - days(4) - first_night_).count();
  for (auto k = static_cast<std::size_t>(std::max<long>(before, 0)); k < nights_.size(); ++k) {
    const UtcTime rises = sunrise_after(k);
    if (rises == UtcTime::min() || rises <= ends_at || sunset_of(k) == UtcTime::min()) continue;
    return {index_from(sunset_of(k)), index_from(rises)};
  }
  return {end, end};
}

UtcTime UnitClock::sunset(LocalDate date) const {
  const auto offset = (date - first_night_).count();
  return offset >= 0 && offset < static_cast<long>(nights_.size()) ? sunset_of(static_cast<std::size_t>(offset)) : UtcTime::min();
}

UtcTime UnitClock::sunset_of(std::size_t k) const {
  if (!nights_[k].sunset)
    nights_[k].sunset =
        core::sunset(first_night_ + days(k), unit_->site.latitude_deg, unit_->site.longitude_deg).value_or(UtcTime::min());
  return *nights_[k].sunset;
}

UtcTime UnitClock::sunrise_after(std::size_t k) const {
  if (!nights_[k].sunrise)
    nights_[k].sunrise =
        core::sunrise(first_night_ + days(k + 1), unit_->site.latitude_deg, unit_->site.longitude_deg).value_or(UtcTime::min());
  return *nights_[k].sunrise;
}

}  // namespace hakea::core
