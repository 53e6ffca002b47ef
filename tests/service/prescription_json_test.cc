// Every way in which a prescription is refused: the code, and the pointer to the member that is wrong.
#include "service/input/prescription_json.h"

#include <gtest/gtest.h>

namespace hakea::service {
namespace {

struct Refused {
  std::string name, text, code, pointer;
};
void PrintTo(const Refused& row, std::ostream* out) { *out << row.code; }

std::string with_limit(const std::string& limit) { return R"({"limits":[)" + limit + "]}"; }
std::string each_hour(const std::string& members) {
  return with_limit(R"({"quantity":"relative_humidity","scope":"each_hour","kind":"hard",)" + members + "}");
}
std::string of(const std::string& quantity, const std::string& scope, const std::string& kind, const std::string& members) {
  return with_limit(R"({"quantity":")" + quantity + R"(","scope":")" + scope + R"(","kind":")" + kind + R"(",)" + members + "}");
}
std::string direction(const std::string& scope, const std::string& members) {
  return of("wind_from_direction", scope, "hard", members);
}
std::string with(const std::string& members) { return R"({"limits":[],)" + members + "}"; }

const std::string kRange = R"("acceptable":{"max":60})";

std::vector<Refused> refusals() {
  return {
      {"AReversedRange", each_hour(R"("acceptable":{"min":75,"max":35})"), "reversed", "/limits/0/acceptable/min"},
      {"AReversedOpenRange", each_hour(R"("acceptable":{"above":75,"below":35})"), "reversed", "/limits/0/acceptable/above"},
      {"AReversedPreferredRange", each_hour(R"("acceptable":{"min":35,"max":75},"preferred":{"min":60,"max":50})"), "reversed",
       "/limits/0/preferred/min"},
      {"ARangeWithNothingInIt", each_hour(R"("acceptable":{"above":50,"max":50})"), "contradictory",
       "/limits/0/acceptable/above"},
      {"OpenAndClosedBoundTogether", each_hour(R"("acceptable":{"max":50,"below":60})"), "contradictory",
       "/limits/0/acceptable/below"},
      {"ARangeWithoutBounds", each_hour(R"("acceptable":{})"), "empty", "/limits/0/acceptable"},
      {"ABoundThatIsNoNumber", each_hour(R"("acceptable":{"max":"60"})"), "wrong_kind", "/limits/0/acceptable/max"},
      {"AnUnknownBound", each_hour(R"("acceptable":{"maximum":60})"), "unknown_member", "/limits/0/acceptable/maximum"},
      {"PreferredBelowAcceptable", each_hour(R"("acceptable":{"min":35,"max":75},"preferred":{"min":30})"), "outside_acceptable",
       "/limits/0/preferred/min"},
      {"PreferredAboveAcceptable", each_hour(R"("acceptable":{"min":35,"below":75},"preferred":{"max":75})"),
       "outside_acceptable", "/limits/0/preferred/max"},
      {"AnUnknownQuantity", of("relative_humidty", "each_hour", "hard", kRange), "unknown_quantity", "/limits/0/quantity"},
      {"AnUnknownScope", of("relative_humidity", "every_hour", "hard", kRange), "unknown_word", "/limits/0/scope"},
      {"AnUnknownKind", of("relative_humidity", "each_hour", "firm", kRange), "unknown_word", "/limits/0/kind"},
      {"AnUnknownMemberOfALimit", each_hour(kRange + R"(,"allow_hour":2)"), "unknown_member", "/limits/0/allow_hour"},
      {"ALimitWithoutQuantity", with_limit(R"({"scope":"each_hour","kind":"hard","acceptable":{"max":1}})"), "required",
       "/limits/0/quantity"},
      {"ALimitWithoutScope", with_limit(R"({"quantity":"ffdi","kind":"hard","acceptable":{"max":1}})"), "required",
       "/limits/0/scope"},
      {"ALimitWithoutKind", with_limit(R"({"quantity":"ffdi","scope":"each_hour","acceptable":{"max":1}})"), "required",
       "/limits/0/kind"},
      {"ALimitWithoutBound", with_limit(R"({"quantity":"ffdi","scope":"each_hour","kind":"hard"})"), "required",
       "/limits/0/acceptable"},
      {"ALimitThatIsNoObject", with_limit("7"), "wrong_kind", "/limits/0"},
      {"SectorsOfWhatIsNoDirection", each_hour(R"("sectors":[{"from":10,"to":20}])"), "not_a_direction", "/limits/0/sectors"},
      {"SectorsInAWindowScope", direction("window_mean", R"("sectors":[{"from":10,"to":20}])"), "not_in_this_scope",
       "/limits/0/sectors"},
      {"SectorsOfTheTail", direction("night_after", R"("sectors":[{"from":10,"to":20}])"), "not_in_this_scope",
       "/limits/0/sectors"},
      {"ASectorOfOneBearing", direction("each_hour", R"("sectors":[{"from":90,"to":90}])"), "ambiguous_sector",
       "/limits/0/sectors/0"},
      {"ASectorOfTheFullCircle", direction("each_hour", R"("sectors":[{"from":10,"to":20},{"from":0,"to":360}])"),
       "ambiguous_sector", "/limits/0/sectors/1"},
      {"ASectorBeyondTheCircle", direction("each_hour", R"("sectors":[{"from":-10,"to":20}])"), "out_of_range",
       "/limits/0/sectors/0/from"},
      {"ASectorWithOneEnd", direction("each_hour", R"("sectors":[{"from":10}])"), "required", "/limits/0/sectors/0/to"},
      {"NoSectorAtAll", direction("each_hour", R"("sectors":[])"), "empty", "/limits/0/sectors"},
      {"SectorsAndARange", direction("each_hour", R"("sectors":[{"from":10,"to":20}],"acceptable":{"max":90})"), "contradictory",
       "/limits/0/sectors"},
      {"AllowHoursAtTheStart", of("ffdi", "at_start", "hard", R"("acceptable":{"max":12},"allow_hours":1)"), "not_in_this_scope",
       "/limits/0/allow_hours"},
      {"AllowHoursOfAWindowMean", of("ffdi", "window_mean", "hard", R"("acceptable":{"max":12},"allow_hours":1)"),
       "not_in_this_scope", "/limits/0/allow_hours"},
      {"AllowHoursOfAWindowMaximum", of("ffdi", "window_max", "hard", R"("acceptable":{"max":12},"allow_hours":1)"),
       "not_in_this_scope", "/limits/0/allow_hours"},
      {"AllowHoursOfASum", of("precipitation_amount", "days_after", "hard", R"("days":2,"acceptable":{"max":2},"allow_hours":1)"),
       "not_in_this_scope", "/limits/0/allow_hours"},
      {"AllowHoursOfAStopOnEachHour", of("ffdi", "each_hour", "stop", R"("acceptable":{"max":12},"allow_hours":1)"),
       "not_with_stop", "/limits/0/allow_hours"},
      {"HoursAfterOutsideEachHour", of("ffdi", "night_after", "hard", R"("acceptable":{"max":12},"hours_after":3)"),
       "not_in_this_scope", "/limits/0/hours_after"},
      {"BeforeWithoutASpan", of("precipitation_amount", "before", "hard", R"("acceptable":{"max":2})"), "required",
       "/limits/0/hours"},
      {"BeforeWithTwoSpans", of("precipitation_amount", "before", "hard", R"("hours":24,"days":1,"acceptable":{"max":2})"),
       "contradictory", "/limits/0/days"},
      {"DaysAfterWithoutDays", of("ffdi", "days_after", "stop", R"("acceptable":{"below":24})"), "required", "/limits/0/days"},
      {"DaysAfterWithHours", of("ffdi", "days_after", "stop", R"("days":2,"hours":2,"acceptable":{"below":24})"),
       "not_in_this_scope", "/limits/0/hours"},
      {"DaysOnEachHour", of("ffdi", "each_hour", "stop", R"("days":2,"acceptable":{"below":24})"), "not_in_this_scope",
       "/limits/0/days"},
      {"HalfAnHour", of("precipitation_amount", "before", "hard", R"("hours":1.5,"acceptable":{"max":2})"), "out_of_range",
       "/limits/0/hours"},
      {"RainOfAnotherQuantity", each_hour(kRange + R"(,"rain_mm":2)"), "not_for_this_quantity", "/limits/0/rain_mm"},
      {"TwoLimitsThatExcludeEachOther",
       R"({"limits":[{"quantity":"relative_humidity","scope":"each_hour","kind":"hard","acceptable":{"max":40}},{"quantity":"relative_humidity","scope":"at_start","kind":"hard","acceptable":{"min":50}}]})",
       "contradictory", "/limits/1/acceptable"},
      {"TwoSectorsThatExcludeEachOther",
       R"({"limits":[{"quantity":"wind_from_direction","scope":"each_hour","kind":"hard","sectors":[{"from":290,"to":70}]},{"quantity":"wind_from_direction","scope":"at_start","kind":"hard","sectors":[{"from":80,"to":280}]}]})",
       "contradictory", "/limits/1/sectors"},
      {"WithinWithoutAnEnd", with(R"("within":{"from":"09:00"})"), "required", "/within/to"},
      {"AClockTimeThatDoesNotExist", with(R"("within":{"from":"09:00","to":"25:00"})"), "not_a_clock_time", "/within/to"},
      {"AWithinThatBeginsAtTwentyFour", with(R"("within":{"from":"24:00","to":"06:00"})"), "out_of_range", "/within/from"},
      {"ALatestStartOutsideWithin", with(R"("within":{"from":"19:00","to":"02:00"},"latest_start":"12:00")"), "contradictory",
       "/latest_start"},
      {"ADurationLongerThanWithin", with(R"("within":{"from":"09:00","to":"12:00"},"duration_h":5)"), "longer_than_within",
       "/duration_h"},
      {"NoDuration", with(R"("duration_h":0)"), "out_of_range", "/duration_h"},
      {"NoConsecutiveDay", with(R"("consecutive_days":0)"), "out_of_range", "/consecutive_days"},
      {"AnUnknownDay", with(R"("days":["mon","tues"])"), "unknown_word", "/days/1"},
      {"NoDayAtAll", with(R"("days":[])"), "empty", "/days"},
      {"ASeasonOfNoCalendar", with(R"("season":[{"from":"03-01","to":"11-31"}])"), "not_a_date", "/season/0/to"},
      {"AReversedClosedSpan", with(R"("closed":[{"from":"2027-04-05","to":"2027-04-03"}])"), "reversed", "/closed/0/from"},
      {"AClosedDateThatDoesNotExist", with(R"("closed":[{"from":"2027-02-29","to":"2027-03-01"}])"), "not_a_date",
       "/closed/0/from"},
      {"AShareOfMoreThanAll", with(R"("points_share":1.5)"), "out_of_range", "/points_share"},
      {"AShareOfNothing", with(R"("points_share":0)"), "out_of_range", "/points_share"},
      {"ANegativeWind", with(R"("wind_for_direction_kmh":-1)"), "out_of_range", "/wind_for_direction_kmh"},
      {"AConfirmationWithoutAName", with(R"("confirmed":{"at":"2027-03-01T10:00:00+11:00"})"), "required", "/confirmed/by"},
      {"AConfirmationWithoutOffset", with(R"("confirmed":{"by":"officer","at":"2027-03-01T10:00:00"})"), "no_offset",
       "/confirmed/at"},
      {"AnUnknownMember", with(R"("duration":5)"), "unknown_member", "/duration"},
      {"NoLimitsMember", "{}", "required", "/limits"},
      {"AText", "\"burn\"", "wrong_kind", ""},
      {"WhatIsNoJson", "{\"limits\":[}", "not_json", "prescription"},
  };
}

class Refusal : public ::testing::TestWithParam<Refused> {};

TEST_P(Refusal, NamesItsCodeAndPointer) {
  const auto prescription = parse_prescription(GetParam().text);
  ASSERT_FALSE(prescription) << "accepted: " << GetParam().text;
  std::string found;
  for (const Error& e : prescription.errors()) {
    found += e.where + " " + e.code + ": " + e.what + "\n";
    EXPECT_FALSE(e.what.empty());
    EXPECT_FALSE(e.hint.empty()) << e.where << " does not say what to do";
  }
  EXPECT_EQ(prescription.errors().size(), 1U) << found;
  EXPECT_EQ(prescription.error().code, GetParam().code) << found;
  EXPECT_EQ(prescription.error().where, GetParam().pointer) << found;
}

INSTANTIATE_TEST_SUITE_P(Prescription, Refusal, ::testing::ValuesIn(refusals()), [](const auto& row) { return row.param.name; });

TEST(PrescriptionJson, ReportsAllMistakesTogether) {
  const auto prescription = parse_prescription(
      R"({"limits":[{"quantity":"ffdi","scope":"each_hour","kind":"hard","acceptable":{"min":5,"max":2}}],"duration_h":-1,"latest":"09:00"})");
  ASSERT_FALSE(prescription);
  EXPECT_EQ(prescription.errors().size(), 3U);
}

TEST(PrescriptionJson, NamesTheQuantityThatWasMeant) {
  const auto prescription = parse_prescription(of("relative_humidty", "each_hour", "hard", kRange));
  ASSERT_FALSE(prescription);
  EXPECT_NE(prescription.error().hint.find("relative_humidity"), std::string::npos) << prescription.error().hint;
}

TEST(PrescriptionJson, ReadsEveryMember) {
  const auto read = parse_prescription(R"({"limits":[
    {"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"min":10,"below":25},"preferred":{"min":15,"max":22}},
    {"quantity":"wind_from_direction","scope":"each_hour","kind":"stop","sectors":[{"from":290,"to":70}],"hours_after":3},
    {"quantity":"days_since_rain","scope":"at_start","kind":"hard","acceptable":{"min":2},"rain_mm":4},
    {"quantity":"precipitation_amount","scope":"before","hours":24,"kind":"hard","acceptable":{"max":2}},
    {"quantity":"wind_speed","scope":"night_after","kind":"preference","acceptable":{"min":5},"allow_hours":3},
    {"quantity":"ffdi","scope":"days_after","days":2,"kind":"stop","acceptable":{"below":24}}],
   "within":{"from":"19:00","to":"02:00"},"latest_start":"00:30","duration_h":5,"consecutive_days":2,"days":["sat","holiday"],
   "season":[{"from":"11-01","to":"02-28"}],"closed":[{"from":"2027-04-03","to":"2027-04-03","why":"festival"}],
   "wind_for_direction_kmh":6,"points_share":0.7,"confirmed":{"by":"officer","at":"2027-03-01T10:00:00+11:00"}})");
  ASSERT_TRUE(read) << read.error().where << " " << read.error().what;
  const core::Prescription& p = *read;
  ASSERT_EQ(p.limits.size(), 6U);
  EXPECT_FALSE(p.limits[0].acceptable.lower->open);
  EXPECT_TRUE(p.limits[0].acceptable.upper->open);
  EXPECT_EQ(p.limits[0].preferred.upper->value, 22);
  EXPECT_EQ(p.limits[1].kind, core::Kind::stop);
  EXPECT_EQ(p.limits[1].sectors[0].to, 70);
  EXPECT_EQ(p.limits[1].hours_after, 3);
  EXPECT_EQ(p.limits[2].rain_mm, 4);
  EXPECT_EQ(p.limits[3].hours, 24);
  EXPECT_EQ(p.limits[4].allow_hours, 3);
  EXPECT_EQ(p.limits[5].days, 2);
  EXPECT_EQ(p.within->to, std::chrono::hours(2));
  EXPECT_EQ(*p.latest_start, std::chrono::minutes(30));
  EXPECT_EQ(p.weekdays.to_ulong(), 1U << 5);
  EXPECT_TRUE(p.holidays_pass);
  EXPECT_EQ(p.seasons.size(), 1U);
  EXPECT_EQ(p.closed[0].why, "festival");
  EXPECT_EQ(p.consecutive_days, 2);
  EXPECT_TRUE(p.confirmed);
}

TEST(PrescriptionJson, AcceptsEmptyLimitsAsADraft) {
  const auto read = parse_prescription(R"({"limits":[]})");
  ASSERT_TRUE(read);
  EXPECT_FALSE(read->confirmed);
  EXPECT_TRUE(read->weekdays.all());
}

// A night on which the clocks go back is an hour longer than its clock times say.
TEST(PrescriptionJson, ADurationMayNeedTheNightTheClocksGoBack) {
  EXPECT_TRUE(parse_prescription(with(R"("within":{"from":"19:00","to":"04:00"},"duration_h":10)")));
  EXPECT_FALSE(parse_prescription(with(R"("within":{"from":"19:00","to":"04:00"},"duration_h":10.5)")));
}

TEST(PrescriptionJson, AnEqualClosedRangeIsAccepted) {
  EXPECT_TRUE(parse_prescription(each_hour(R"("acceptable":{"min":50,"max":50})")));
}

TEST(Instant, NeedsAnOffset) {
  EXPECT_EQ(*parse_instant("2027-04-02T10:00:00+11:00"), *parse_instant("2027-04-01T23:00:00Z"));
  EXPECT_EQ(*parse_instant("2027-04-02T10:00:00.25-03:30"), *parse_instant("2027-04-02T13:30:00Z"));
  EXPECT_EQ(parse_instant("2027-04-02T10:00:00").error().code, "no_offset");
  EXPECT_EQ(parse_instant("2027-02-29T10:00:00Z").error().code, "not_a_time");
  EXPECT_EQ(parse_instant("2027-04-02").error().code, "not_a_time");
  EXPECT_EQ(parse_instant("2027-04-02T10:00:00+25:00").error().code, "not_a_time");
}

}  // namespace
}  // namespace hakea::service
