#include "service/input/district_json.h"

#include <gtest/gtest.h>

#include "service/input/zones.h"

namespace hakea::service {
namespace {

using namespace std::chrono;

LocalDate date(int y, unsigned m, unsigned d) { return local_days(year(y) / month(m) / day(d)); }

Unit unit_of(const std::string& id) {
  Unit unit;
  unit.id = id;
  unit.district = "tallowmere";
  unit.airshed = "valley";
  unit.traits.zone = *time_zone("Australia/Sydney");
  return unit;
}

core::UnitPlan plan(const std::string& text, const Unit& unit, const TimeZone* zone_of_others = nullptr) {
  const auto district = parse_district(text);
  EXPECT_TRUE(district) << (district ? "" : district.error().where + " " + district.error().what);
  return district ? plan_of(unit, *district, [&](const std::string&) { return zone_of_others; }) : core::UnitPlan{};
}

TEST(District, DatesOfAStopAreIncludedInTheUnitsZone) {
  // 4 April 2027 has 25 hours in Sydney: the stop ends at midnight of +10:00.
  const auto p =
      plan(R"({"stops":[{"scope":{"unit":"a"},"from":"2027-04-03","to":"2027-04-04","kind":"event","why":"festival"}]})",
           unit_of("a"));
  ASSERT_EQ(p.stops.size(), 1U);
  EXPECT_EQ(p.stops[0].from, *parse_instant("2027-04-03T00:00:00+11:00"));
  EXPECT_EQ(p.stops[0].to, *parse_instant("2027-04-05T00:00:00+10:00"));
  EXPECT_EQ(p.stops[0].to - p.stops[0].from, 49h);
}

TEST(District, AStopCoversItsUnitAirshedOrDistrictOnly) {
  const std::string text = R"({"stops":[{"scope":{"unit":"b"},"from":"2027-04-03","to":"2027-04-03","kind":"event"},
    {"scope":{"airshed":"valley"},"from":"2027-04-03T10:00:00+11:00","to":"2027-04-03T12:00:00+11:00","kind":"other"},
    {"scope":{"district":"tallowmere"},"from":"2027-04-03","to":"2027-04-03","kind":"declared_ban"},
    {"scope":{"district":"elsewhere"},"from":"2027-04-03","to":"2027-04-03","kind":"period"}]})";
  const auto p = plan(text, unit_of("a"));
  ASSERT_EQ(p.stops.size(), 2U);
  EXPECT_EQ(p.stops[0].kind, "other");
  EXPECT_EQ(p.stops[0].to - p.stops[0].from, 2h);
  EXPECT_EQ(p.stops[1].kind, "declared_ban");
}

TEST(District, AStopOfNobodyIsToldWithTheNearestName) {
  const auto district = parse_district(R"({"stops":[
    {"scope":{"airshed":"valley"},"from":"2027-04-03","to":"2027-04-03","kind":"event"},
    {"scope":{"unit":"sawpit-rigde"},"from":"2027-04-03","to":"2027-04-03","kind":"event"}]})");
  ASSERT_TRUE(district);
  const Errors idle = stops_of_nobody(*district, {unit_of("a"), unit_of("sawpit-ridge")});
  ASSERT_EQ(idle.size(), 1U);
  EXPECT_EQ(idle[0].where, "/stops/1/scope");
  EXPECT_NE(idle[0].hint.find("sawpit-ridge"), std::string::npos) << idle[0].hint;
}

TEST(District, HolidaysAreThoseOfTheUnitsDistrict) {
  const std::string text =
      R"({"district":{"id":"tallowmere","holidays":[{"from":"2027-04-02","to":"2027-04-04","name":"school holidays"}]}})";
  EXPECT_EQ(plan(text, unit_of("a")).holidays.size(), 3U);
  Unit elsewhere = unit_of("a");
  elsewhere.district = "elsewhere";
  EXPECT_TRUE(plan(text, elsewhere).holidays.empty());
}

TEST(District, BookingsGiveOpenBurnsNoticesAndWhatWasLit) {
  const std::string text = R"({"bookings":[
    {"unit":"a","date":"2027-03-28","state":"mop_up","lit_at":"2027-03-28T09:30:00+11:00","notices":[{"kind":"neighbours","given_at":"2027-03-26T10:00:00+11:00","for":["2027-03-28","2027-03-29"]}]},
    {"unit":"b","date":"2027-03-01","state":"closed","lit_at":"2027-03-01T10:00:00+11:00"},
    {"unit":"b","date":"2026-03-01","state":"closed","lit_at":"2026-03-01T10:00:00+11:00"}]})";
  const auto a = plan(text, unit_of("a"));
  EXPECT_TRUE(a.is_open_burn);
  EXPECT_EQ(a.notice_given_for, (std::set<LocalDate>{date(2027, 3, 28), date(2027, 3, 29)}));
  ASSERT_EQ(a.lit.size(), 2U);
  EXPECT_EQ(a.lit[1].unit, "b");
  EXPECT_EQ(a.lit[1].lit_on, date(2027, 3, 1));
  EXPECT_FALSE(plan(text, unit_of("b")).is_open_burn);
}

TEST(District, ABurnIsLitOnTheDateOfItsOwnUnit) {
  const TimeZone berlin = *time_zone("Europe/Berlin");
  const std::string text = R"({"bookings":[{"unit":"b","date":"2027-03-01","state":"closed","lit_at":"2027-03-01T20:00:00Z"}]})";
  EXPECT_EQ(plan(text, unit_of("a"), &berlin).lit[0].lit_on, date(2027, 3, 1));
  EXPECT_EQ(plan(text, unit_of("a")).lit[0].lit_on, date(2027, 3, 2));  // not known here: by the asking unit's zone
}

struct Refused {
  std::string name, text, code, pointer;
};
void PrintTo(const Refused& row, std::ostream* out) { *out << row.code; }
class DistrictRefusal : public ::testing::TestWithParam<Refused> {};
TEST_P(DistrictRefusal, NamesItsCodeAndPointer) {
  const auto district = parse_district(GetParam().text);
  ASSERT_FALSE(district);
  EXPECT_EQ(district.error().code, GetParam().code) << district.error().what;
  EXPECT_EQ(district.error().where, GetParam().pointer);
}
INSTANTIATE_TEST_SUITE_P(
    District, DistrictRefusal,
    ::testing::ValuesIn(std::vector<Refused>{
        {"AReversedStop", R"({"stops":[{"scope":{"unit":"a"},"from":"2027-04-05","to":"2027-04-03","kind":"event"}]})",
         "reversed", "/stops/0/from"},
        {"AReversedStopOfDateAndTime",
         R"({"stops":[{"scope":{"unit":"a"},"from":"2027-04-05","to":"2027-04-03T10:00:00+11:00","kind":"event"}]})", "reversed",
         "/stops/0/from"},
        {"AReversedStopOfTimeAndDate",
         R"({"stops":[{"scope":{"unit":"a"},"from":"2027-04-06T10:00:00+11:00","to":"2027-04-03","kind":"event"}]})", "reversed",
         "/stops/0/from"},
        {"AStopWithoutScope", R"({"stops":[{"from":"2027-04-05","to":"2027-04-05","kind":"event"}]})", "required",
         "/stops/0/scope"},
        {"AStopOfTwoScopes",
         R"({"stops":[{"scope":{"unit":"a","district":"d"},"from":"2027-04-05","to":"2027-04-05","kind":"event"}]})",
         "contradictory", "/stops/0/scope"},
        {"AStopOfAnUnknownKind", R"({"stops":[{"scope":{"unit":"a"},"from":"2027-04-05","to":"2027-04-05","kind":"fete"}]})",
         "unknown_word", "/stops/0/kind"},
        {"AStopWithoutOffset",
         R"({"stops":[{"scope":{"unit":"a"},"from":"2027-04-05T10:00:00","to":"2027-04-05","kind":"event"}]})", "no_offset",
         "/stops/0/from"},
        {"ABookingOfAnUnknownState", R"({"bookings":[{"unit":"a","date":"2027-04-05","state":"burning"}]})", "unknown_word",
         "/bookings/0/state"},
        {"ANoticeForNoDate", R"({"bookings":[{"unit":"a","date":"2027-04-05","state":"draft","notices":[{"for":["soon"]}]}]})",
         "not_a_date", "/bookings/0/notices/0/for/0"},
        {"AnUnknownMember", R"({"booking":[]})", "unknown_member", "/booking"}}),
    [](const auto& row) { return row.param.name; });

}  // namespace
}  // namespace hakea::service
