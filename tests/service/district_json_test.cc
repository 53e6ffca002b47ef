#include "service/input/district_json.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "core/prescription/hour_fit.h"
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
  return district ? plan_of(unit, *district, [&](const std::string&) { return zone_of_others; }, {}) : core::UnitPlan{};
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

TEST(District, HasItsMeansToBurnWith) {
  const auto district = parse_district(R"({"district":{"id":"d","depots":[
    {"id":"north","name":"North","position":[152.7,-37.8],"crews":3,"tankers":2},{"id":"south","crews":1,"plant":1}],
    "shared":{"aircraft":1},"readiness":{"free_crews":2,"when":{"quantity":"ffdi","scope":"same_day","min":24}},
    "airsheds":[{"id":"valley","name":"Valley","burns_per_day":2,"area_ha_per_day":250},{"id":"tops"}]}})");
  ASSERT_TRUE(district);
  const core::Means& means = district->means.means;
  ASSERT_EQ(means.depots.size(), 2U);
  EXPECT_EQ(means.depots[0].name, "North");
  EXPECT_EQ(means.depots[0].crews, 3);
  EXPECT_EQ(means.depots[0].tankers, 2);
  EXPECT_EQ(means.depots[0].plant, 0);
  ASSERT_TRUE(means.depots[0].place);
  EXPECT_EQ(means.depots[0].place->longitude_deg, 152.7);
  EXPECT_FALSE(means.depots[1].place);
  EXPECT_EQ(means.depots[1].name, "south");
  EXPECT_EQ(means.depots[1].plant, 1);
  EXPECT_EQ(means.aircraft, 1);
  EXPECT_EQ(means.readiness.free_crews, 2);
  ASSERT_TRUE(district->means.quiet);
  // 24 itself is danger: a date is quiet below it.
  EXPECT_EQ(core::range_fit(district->means.quiet->acceptable, core::Possible::exactly(24)), core::Fit::out);
  EXPECT_EQ(core::range_fit(district->means.quiet->acceptable, core::Possible::exactly(23.9)), core::Fit::in);
  ASSERT_EQ(means.airsheds.size(), 2U);
  EXPECT_EQ(means.airsheds[0].burns_per_day, 2);
  EXPECT_EQ(means.airsheds[0].area_ha_per_day, 250);
  EXPECT_EQ(means.airsheds[1].burns_per_day, std::nullopt);
}

TEST(District, AllMistakesOfItsMeansAreNamed) {
  const auto district =
      parse_district(R"({"district":{"depots":[{"crews":-1},{"id":"a","colour":1},{"id":"a","position":[200,0]}],
    "shared":{"aircraft":1.5,"balloons":1},"readiness":{"free_crews":2,"when":{"quantity":"fdi","scope":"today","min":1,"max":2}},
    "airsheds":[{"id":"valley","burns_per_day":"two","area_ha_per_day":-1}]}})");
  ASSERT_FALSE(district);
  std::vector<std::string> mistakes;
  for (const Error& error : district.errors()) mistakes.push_back(error.where + " " + error.code);
  std::sort(mistakes.begin(), mistakes.end());
  EXPECT_EQ(mistakes, (std::vector<std::string>{
                          "/district/airsheds/0/area_ha_per_day out_of_range", "/district/airsheds/0/burns_per_day wrong_kind",
                          "/district/depots/0/crews out_of_range", "/district/depots/0/id required",
                          "/district/depots/1/colour unknown_member", "/district/depots/2/id repeated_id",
                          "/district/depots/2/position out_of_range", "/district/readiness/when contradictory",
                          "/district/readiness/when/quantity unknown_quantity", "/district/readiness/when/scope unknown_word",
                          "/district/shared/aircraft out_of_range", "/district/shared/balloons unknown_member"}));
}

TEST(District, CrewsThatStayFreeNeedADanger) {
  const auto district = parse_district(R"({"district":{"readiness":{"free_crews":1}}})");
  ASSERT_FALSE(district);
  EXPECT_EQ(district.error().where, "/district/readiness/when");
  EXPECT_TRUE(parse_district(R"({"district":{"readiness":{"free_crews":0}}})"));
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
