// Nights are found when they are asked for: the same nights as by looking through all of a record's, wherever the unit lies and
// whatever its clock says. Sunrise and sunset themselves are held against published tables elsewhere.
#include "core/prescription/unit_clock.h"

#include <gtest/gtest.h>

#include "core/weather/sun.h"

namespace hakea::test {
namespace {

using namespace core;
using namespace std::chrono_literals;
using std::chrono::days;

struct Place {
  const char* name;
  double latitude_deg, longitude_deg;
  std::chrono::seconds offset;
};
void PrintTo(const Place& place, std::ostream* out) { *out << place.name; }

class Nights : public ::testing::TestWithParam<Place> {};

TEST_P(Nights, AreThoseOfAllNightsInTheirOrder) {
  const Place place = GetParam();
  UnitTraits unit;
  unit.site.latitude_deg = place.latitude_deg;
  unit.site.longitude_deg = place.longitude_deg;
  unit.zone = TimeZone::fixed("test", place.offset);
  const Prescription prescription;
  const UtcHour first = UtcHour::of(UtcTime(std::chrono::sys_days(std::chrono::year(2027) / 4 / 15)) + 7h);
  constexpr int kHours = 24 * 60;  // into the time when the sun stays up in the far north
  const UnitClock clock(unit, prescription, first, kHours);
  const LocalDate from = unit.zone.date(first.start()) - days(2), last = unit.zone.date((first + kHours).start()) + days(3);
  const auto sets_on = [&](LocalDate date) { return sunset(date, place.latitude_deg, place.longitude_deg); };
  const auto rises_on = [&](LocalDate date) { return sunrise(date, place.latitude_deg, place.longitude_deg); };
  int nights = 0;
  for (int end = 0; end <= kHours; ++end) {
    NightHours expected{end, end};
    for (LocalDate date = from; date <= last; date += days(1)) {
      const auto sets = sets_on(date), rises = rises_on(date + days(1));
      if (!sets || !rises || *rises <= (first + end).start()) continue;
      expected = {clock.index_from(*sets), clock.index_from(*rises)};
      ++nights;
      break;
    }
    const NightHours night = clock.night_after(end);
    ASSERT_EQ(night.begin, expected.begin) << "after hour " << end;
    ASSERT_EQ(night.end, expected.end) << "after hour " << end;
  }
  EXPECT_GT(nights, 24 * 20);
  for (LocalDate date = from - days(2); date <= last + days(2); date += days(1))
    EXPECT_EQ(clock.sunset(date), date < from || date > last ? UtcTime::min() : sets_on(date).value_or(UtcTime::min()));
}

INSTANTIATE_TEST_SUITE_P(Places, Nights,
                         ::testing::Values(Place{"where_the_zone_fits", -37.7, 146.9, 10h}, Place{"under_utc", -37.7, 146.9, 0h},
                                           Place{"a_date_ahead_of_the_sun", -17.5, -149.6, 14h},
                                           Place{"a_date_behind_it", -17.5, 179.9, -12h}, Place{"far_north", 69.6, 18.9, 1h}),
                         [](const auto& place) { return std::string(place.param.name); });

}  // namespace
}  // namespace hakea::test
