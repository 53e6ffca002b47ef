// A time zone as a table of offsets, handed in from outside.
//
// core/ reads no zone database; the service fills the table from the system's zones for the years at hand. Rules for clock
// times (INTERFACE §1): one that comes twice means the first, one that is skipped means the instant of the change, and
// 24:00 is the start of the next date.
#pragma once

#include <chrono>
#include <memory>
#include <string>
#include <vector>

#include "core/base/time.h"

namespace hakea {

using ClockTime = std::chrono::minutes;  // since local midnight, 0:00 to 24:00

class TimeZone {
 public:
  struct Period {
    UtcTime begin;                  // this period holds from here until the next one begins
    std::chrono::seconds offset;    // local clock minus UTC
    std::chrono::seconds standard;  // the same without daylight saving
  };

  TimeZone() : TimeZone("UTC", {{UtcTime::min(), std::chrono::seconds(0), std::chrono::seconds(0)}}) {}
  // `periods` in order of begin, at least one; times before the first use the first.
  TimeZone(std::string name, std::vector<Period> periods);
  static TimeZone fixed(std::string name, std::chrono::seconds offset);

  const std::string& name() const { return name_; }
  const std::vector<Period>& periods() const { return *table_; }
  std::chrono::seconds offset_at(UtcTime t) const { return period_at(t).offset; }
  std::chrono::seconds standard_offset_at(UtcTime t) const { return period_at(t).standard; }

  LocalTime local(UtcTime t) const { return LocalTime(t.time_since_epoch() + offset_at(t)); }
  LocalDate date(UtcTime t) const { return std::chrono::floor<std::chrono::days>(local(t)); }

  // The instant of a clock time on a date.
  UtcTime instant(LocalDate date, ClockTime clock) const;
  // First instant of a local date; the date's last hour ends where the next date begins.
  UtcTime day_begin(LocalDate date) const { return instant(date, ClockTime(0)); }

  // The date by which a rain day that holds instant t is named: it ends at 09:00 local standard time on that date.
  LocalDate rain_day(UtcTime t) const;
  // 09:00 local standard time on a date: where the rain day of that name ends.
  UtcTime rain_day_end(LocalDate date) const { return standard_instant(date, std::chrono::hours(9)); }
  // A time of local standard time (no daylight saving) on a date.
  UtcTime standard_instant(LocalDate date, ClockTime standard_clock) const;

 private:
  const Period& period_at(UtcTime t) const;

  std::string name_;
  std::shared_ptr<const std::vector<Period>> table_;  // shared: every unit carries its zone
};

// The first whole hour that starts at or after t, and the one that ends at or before t.
constexpr UtcHour first_hour_from(UtcTime t) { return UtcHour::of(t + std::chrono::seconds(3599)); }
constexpr UtcHour hours_end_by(UtcTime t) { return UtcHour::of(t); }  // one past the last hour that has ended by t

}  // namespace hakea
