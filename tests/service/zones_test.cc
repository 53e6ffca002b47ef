// The system's time zones: days of 23, 24 and 25 hours, and a zone that saves half an hour.
#include "service/input/zones.h"

#include <gtest/gtest.h>

namespace hakea::service {
namespace {

using namespace std::chrono;

LocalDate date(int y, unsigned m, unsigned d) { return local_days(year(y) / month(m) / day(d)); }
UtcTime utc(int y, unsigned m, unsigned d, int h, int min = 0) {
  return sys_days(year(y) / month(m) / day(d)) + hours(h) + minutes(min);
}
auto length(const TimeZone& zone, LocalDate d) { return zone.day_begin(d + days(1)) - zone.day_begin(d); }

TEST(SystemZones, H5DaylightSavingEndsAndBeginsInSydney) {
  const TimeZone zone = *time_zone("Australia/Sydney");
  EXPECT_EQ(length(zone, date(2027, 4, 3)), 24h);
  EXPECT_EQ(length(zone, date(2027, 4, 4)), 25h);
  EXPECT_EQ(length(zone, date(2027, 10, 3)), 23h);
  EXPECT_EQ(zone.instant(date(2027, 4, 4), 2h), utc(2027, 4, 3, 15));            // the first of two
  EXPECT_EQ(zone.instant(date(2027, 10, 3), 2h + 30min), utc(2027, 10, 2, 16));  // skipped: the change
  EXPECT_EQ(zone.standard_offset_at(utc(2027, 1, 1, 0)), 10h);
  EXPECT_EQ(zone.offset_at(utc(2027, 1, 1, 0)), 11h);
  EXPECT_EQ(zone.rain_day_end(date(2027, 3, 31)), utc(2027, 3, 30, 23));  // 09:00 standard is 10:00 on the clock
}

TEST(SystemZones, LordHoweSavesHalfAnHour) {
  const TimeZone zone = *time_zone("Australia/Lord_Howe");
  EXPECT_EQ(length(zone, date(2027, 4, 4)), 24h + 30min);
  EXPECT_EQ(length(zone, date(2027, 10, 3)), 23h + 30min);
  EXPECT_EQ(zone.standard_offset_at(utc(2027, 1, 1, 0)), 10h + 30min);
  EXPECT_EQ(zone.offset_at(utc(2027, 1, 1, 0)), 11h);
}

TEST(SystemZones, H30EveryUnitHasItsOwnDay) {
  const UtcTime t = utc(2027, 3, 26, 12, 30);
  EXPECT_EQ(time_zone("Australia/Sydney")->date(t), date(2027, 3, 26));
  EXPECT_EQ(time_zone("Pacific/Auckland")->date(t), date(2027, 3, 27));
  EXPECT_EQ(time_zone("America/New_York")->date(utc(2027, 3, 26, 3)), date(2027, 3, 25));
}

TEST(SystemZones, ZonesWithoutDaylightSavingHaveOneOffset) {
  const TimeZone zone = *time_zone("Australia/Brisbane");
  EXPECT_EQ(length(zone, date(2027, 4, 4)), 24h);
  EXPECT_EQ(zone.standard_offset_at(utc(2027, 1, 1, 0)), zone.offset_at(utc(2027, 1, 1, 0)));
}

TEST(SystemZones, AnUnknownNameIsRefusedWithTheNearest) {
  const auto zone = time_zone("Australia/Sidney");
  ASSERT_FALSE(zone);
  EXPECT_EQ(zone.error().code, "unknown_time_zone");
  EXPECT_NE(zone.error().hint.find("Australia/Sydney"), std::string::npos) << zone.error().hint;
}

}  // namespace
}  // namespace hakea::service
