#include "core/base/zone.h"

#include <gtest/gtest.h>

namespace hakea {
namespace {

using namespace std::chrono;
using namespace std::chrono_literals;

LocalDate date(int y, unsigned m, unsigned d) { return local_days(year(y) / month(m) / day(d)); }
UtcTime utc(int y, unsigned m, unsigned d, int h, int min = 0) {
  return sys_days(year(y) / month(m) / day(d)) + hours(h) + minutes(min);
}

// South-east Australian rule of 2027: daylight saving ends on 4 April 03:00 (16:00 UTC on the 3rd), begins on 3 October.
TimeZone south_east() {
  return TimeZone("test", {{UtcTime::min(), 10h, 10h},
                           {utc(2026, 10, 3, 16), 11h, 10h},
                           {utc(2027, 4, 3, 16), 10h, 10h},
                           {utc(2027, 10, 2, 16), 11h, 10h}});
}

TEST(TimeZone, ClockTimeThatComesTwiceMeansTheFirst) {
  EXPECT_EQ(south_east().instant(date(2027, 4, 4), 2h + 30min), utc(2027, 4, 3, 15, 30));
}

TEST(TimeZone, SkippedClockTimeMeansTheChange) {
  EXPECT_EQ(south_east().instant(date(2027, 10, 3), 2h + 30min), utc(2027, 10, 2, 16));
}

TEST(TimeZone, TwentyFourIsTheNextMidnight) { EXPECT_EQ(south_east().instant(date(2027, 4, 3), 24h), utc(2027, 4, 3, 13)); }

TEST(TimeZone, DaysHave23Or25Hours) {
  const TimeZone zone = south_east();
  EXPECT_EQ(zone.day_begin(date(2027, 4, 5)) - zone.day_begin(date(2027, 4, 4)), 25h);
  EXPECT_EQ(zone.day_begin(date(2027, 10, 4)) - zone.day_begin(date(2027, 10, 3)), 23h);
}

TEST(TimeZone, RainDayEndsAtNineStandardAndIsNamedByItsEnd) {
  const TimeZone zone = south_east();
  // In summer time 09:00 standard is 10:00 on the clock: 22:59:59Z is still the day before.
  EXPECT_EQ(zone.rain_day(utc(2027, 3, 30, 22, 59)), date(2027, 3, 31));
  EXPECT_EQ(zone.rain_day(utc(2027, 3, 30, 23)), date(2027, 4, 1));
  EXPECT_EQ(zone.rain_day_end(date(2027, 3, 31)), utc(2027, 3, 30, 23));
}

}  // namespace
}  // namespace hakea
