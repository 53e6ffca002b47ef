#include "core/prescription/unit_clock.h"

#include <algorithm>

#include "core/weather/sun.h"

namespace hakea::core {

using std::chrono::days;

UnitClock::UnitClock(const UnitTraits& unit, const Prescription& prescription, UtcHour first, std::size_t hours)
    : unit_(&unit), prescription_(&prescription), first_(first) {
  const UtcTime begin = first.start(), end = (first + static_cast<int>(hours)).start();
  first_night_ = unit.zone.date(begin) - days(2);
  const auto sun_on = [&](LocalDate date) { return sun_times(date, unit.site.latitude_deg, unit.site.longitude_deg); };
  SunTimes today = sun_on(first_night_);
  for (LocalDate date = first_night_; date <= unit.zone.date(end) + days(3); date += days(1)) {
    const SunTimes tomorrow = sun_on(date + days(1));
    nights_.push_back({today.set.value_or(UtcTime::min()), tomorrow.rise.value_or(UtcTime::min())});
    today = tomorrow;
    dates_.push_back(hours_of(date));
  }
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
  for (const Night& night : nights_) {
    if (night.sunset == UtcTime::min() || night.sunrise == UtcTime::min() || night.sunrise <= ends_at) continue;
    return {index_from(night.sunset), index_from(night.sunrise)};
  }
  return {end, end};
}

UtcTime UnitClock::sunset(LocalDate date) const {
  const auto offset = (date - first_night_).count();
  return offset >= 0 && offset < static_cast<long>(nights_.size()) ? nights_[static_cast<std::size_t>(offset)].sunset
                                                                   : UtcTime::min();
}

}  // namespace hakea::core
