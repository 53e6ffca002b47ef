#include "core/catalogue/derive.h"

namespace hakea::core {

void overlay_daily_readings(UnitHours& hours, std::string_view key, std::chrono::hours determined_at) {
  const Column* entered = readings_of(hours, key);
  if (!entered) return;
  Column& out = hours[key];
  const TimeZone& zone = hours.unit->zone;
  double standing = std::numeric_limits<double>::quiet_NaN();
  UtcHour ends = hours.first;
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = hours.first + static_cast<int>(i);
    if (hour >= ends) standing = std::numeric_limits<double>::quiet_NaN();
    if (!entered->is_missing(i)) {
      standing = static_cast<double>((*entered)[i]);
      const LocalTime clock(hour.start().time_since_epoch() + zone.standard_offset_at(hour.start()));
      const auto date = std::chrono::floor<std::chrono::days>(clock - determined_at) + std::chrono::days(1);
      ends = first_hour_from(zone.standard_instant(date, determined_at));
    }
    if (!std::isnan(standing)) out.set(i, standing, flag::kReading);
  }
}

Column local_clock(const UnitHours& hours) {
  Column clock(hours.hours);
  if (hours.hours == 0) return clock;
  const auto offset = hours.unit->zone.standard_offset_at(hours.first.start());
  double now = static_cast<double>((hours.first.start().time_since_epoch() + offset).count() % 86400) / 3600;
  for (std::size_t i = 0; i < hours.hours; ++i, now += now >= 23 ? -23 : 1) clock.set(i, now);
  return clock;
}

}  // namespace hakea::core
