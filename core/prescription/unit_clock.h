// When things are for a unit: its dates, light-up hours and nights, as hour indices of its record (INTERFACE §1, §3).
//
// Indices may lie outside the record; hours there are unknown. Index 0 is the record's first hour.
#pragma once

#include <optional>
#include <vector>

#include "core/base/time.h"
#include "core/base/zone.h"
#include "core/catalogue/unit_hours.h"
#include "core/prescription/prescription.h"

namespace hakea::core {

struct DateHours {
  LocalDate date{};
  int begin = 0, end = 0;                        // hours of the local date
  int within_begin = 0, within_end = 0;          // whole hours inside the light-up hours
  int last_start = 0;                            // latest permitted start
  int determined_nine = 0, determined_noon = 0;  // first hours in which the date's daily quantities stand
};

struct NightHours {
  int begin = 0, end = 0;  // from sunset to sunrise; empty where the sun does not set
};

// Not to be shared between threads: it keeps what it was asked.
class UnitClock {
 public:
  UnitClock(const UnitTraits& unit, const Prescription& prescription, UtcHour first, std::size_t hours);

  DateHours date(LocalDate date) const {
    const auto k = (date - first_night_).count();
    return k >= 0 && k < static_cast<long>(dates_.size()) ? dates_[static_cast<std::size_t>(k)] : hours_of(date);
  }
  LocalDate date_of(int hour) const { return unit_->zone.date((first_ + hour).start()); }
  // The night that a window ending at hour `end` is followed by: the rest of the running one, or the next (night_after).
  NightHours night_after(int end) const;
  // A time of a date's clock as it is outside daylight saving.
  UtcTime standard_instant(LocalDate date, std::chrono::hours clock) const { return unit_->zone.standard_instant(date, clock); }
  // Sunset of a date; UtcTime::min() where the sun does not set.
  UtcTime sunset(LocalDate date) const;

  UtcHour first() const { return first_; }
  UtcHour hour(int index) const { return first_ + index; }
  int index_from(UtcTime t) const { return first_hour_from(t) - first_; }  // first hour that starts at or after t
  int index_ended(UtcTime t) const { return hours_end_by(t) - first_; }    // one past the last hour that ends by t

 private:
  DateHours hours_of(LocalDate date) const;

  // Each found when it is asked for, which most are not; UtcTime::min() where the sun does not cross the horizon.
  struct Night {
    std::optional<UtcTime> sunset, sunrise;
  };
  UtcTime sunset_of(std::size_t night) const;
  UtcTime sunrise_after(std::size_t night) const;

  const UnitTraits* unit_;
  const Prescription* prescription_;
  UtcHour first_;
  LocalDate first_night_{};
  std::vector<DateHours> dates_{};       // what is asked of each again and again
  mutable std::vector<Night> nights_{};  // by date of sunset: the same dates
};

}  // namespace hakea::core
