// What stations saw: it comes before what was foretold, is carried from day to day with its name, and counts also when it
// comes late.
#include <fmt/format.h>

#include "service/engine/carried_json.h"
#include "service/engine/weather_record.h"
#include "service/output/time_text.h"
#include "tests/support/engine_rig.h"
#include "tests/support/must.h"

namespace hakea::test {
namespace {

constexpr const char* kMild = R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":24}})";

class Observed : public EngineRig {
 protected:
  void SetUp() override {
    add_feed("fine", 72);
    ingest::Feed& stations = add_feed("seen", 0);
    stations.hours.reset();
    stations.pattern = "*.csv";
    stations.observed = true;
    enter_unit("u", kMild);
    start();
  }
  // A station beside the unit, hour by hour from `from` on (hours after 29 March 00 UTC), with so much rain in each.
  void see(int from, int to, double rain, bool only_rain = false) {
    std::string table = "station,time_utc,latitude [deg],longitude [deg],elevation [m],precipitation_amount [mm]";
    if (!only_rain) table += ",air_temperature [Cel],dew_point_temperature [Cel],wind_speed [km/h],wind_from_direction [deg]";
    for (int h = from; h < to; ++h)
      table += fmt::format("\nhut,{},-37,150.05,210,{}{}", utc_text(at(h)), rain, only_rain ? "" : ",17,9,8,270");
    put_file("seen", "seen.csv", table + "\n");
  }
  void foretell(int reference_h) {
    set_clock(reference_h + 1);
    put({.name = fmt::format("{}.nc", reference_h), .reference_h = reference_h});
    catch_up();
  }
  CarriedRow carried(LocalDate day) {
    for (const CarriedRow& row : must(store_.carried("u")))
      if (row.rain_day == day) return row;
    throw std::runtime_error(fmt::format("no row of {}", day.time_since_epoch().count()));
  }
  double kbdi_after(LocalDate day) { return must(parse_carried(carried(day).state, "")).kbdi.value(); }
  core::UnitHours hours() { return hours_of(unit()).front().front(); }
  static std::size_t index(const core::UnitHours& hours, int h) {
    return static_cast<std::size_t>(UtcHour::of(at(h)) - hours.first);
  }
};

TEST_F(Observed, RainCountsInsteadOfTheForecastsAndIsNamedInTheState) {
  see(12, 20, 3, true);
  foretell(12);
  foretell(30);
  const core::UnitHours now = hours();
  for (int h = 12; h < 20; ++h) EXPECT_EQ(now["precipitation_amount"][index(now, h)], 3) << h;
  EXPECT_EQ(now["precipitation_amount"][index(now, 20)], 0) << "foretold";
  const std::string from = carried(date_of(3, 30)).provenance;
  EXPECT_NE(from.find(R"("precipitation_amount":{"run":"seen.2027-03-29T12:00:00Z","revision":1,"station":"hut",)"
                      R"("distance_km":3.6,"higher_m":10})"),
            std::string::npos)
      << from;
  EXPECT_NE(from.find(R"("air_temperature":{"run":"fine.2027-03-29T12:00:00Z","revision":1})"), std::string::npos) << from;
  EXPECT_FALSE(carried(date_of(3, 30)).is_observed) << "not all of its hours";
  ASSERT_EQ(unit().sampling.size(), 2u);
  EXPECT_EQ(unit().sampling[1].feed, "seen");
  EXPECT_EQ(unit().sampling[1].station, "hut");
  EXPECT_EQ(unit().days.front().feeds.size(), 1u) << "a station foretells nothing";
}

// A file for each station, as loggers write them: both begin with the same hour.
TEST_F(Observed, StationsOfAFeedSpeakInTurn) {
  std::string near = "station,time_utc,latitude [deg],longitude [deg],elevation [m],air_temperature [Cel]", far = near;
  far += ",precipitation_amount [mm]";
  for (int h = 12; h < 30; ++h) {
    near += fmt::format("\nnear,{},-37,150.05,200,{}", utc_text(at(h)), h >= 15 && h < 17 ? "" : "31");
    far += fmt::format("\nfar,{},-37,150.2,200,32,2", utc_text(at(h)));
  }
  put_file("seen", "near.csv", near + "\n");
  put_file("seen", "far.csv", far + "\n");
  foretell(12);
  foretell(30);
  const auto check = [&](const char* when) {
    const core::UnitHours now = hours();
    for (int h = 12; h < 30; ++h) {
      EXPECT_EQ(now["air_temperature"][index(now, h)], h >= 15 && h < 17 ? 32 : 31) << h << when;
      EXPECT_EQ(now["precipitation_amount"][index(now, h)], 2) << "the nearer has no gauge" << when;
    }
    ASSERT_EQ(unit().sampling.size(), 3u);
    EXPECT_EQ(unit().sampling[1].station, "near");
    EXPECT_EQ(unit().sampling[2].station, "far");
  };
  check("");
  const std::string from = carried(date_of(3, 30)).provenance;
  const std::string seen = "seen.2027-03-29T12:00:00Z";  // a second revision where one file was looked at before the other came
  const std::string two_hours =
      fmt::format(R"({{"from":"2027-03-29T15:00:00Z","to":"2027-03-29T17:00:00Z","inputs":{{"air_temperature":{{)"
                  R"("run":"{}","revision":{},"station":"far")",
                  seen, run(seen)->revision);
  EXPECT_NE(from.find(two_hours), std::string::npos) << from;
  stop();
  start();
  check(", after a restart");
}

TEST_F(Observed, AStationWithADamagedFileDoesNotSilenceTheOthers) {
  see(12, 20, 3);
  put_file("seen", "broken.csv", "station,time_utc,latitude [deg],longitude [deg]\nhut,2027-03-29T12:0");
  foretell(12);
  EXPECT_EQ(hours()["precipitation_amount"][index(hours(), 14)], 3);
  EXPECT_TRUE(refused("broken.csv"));
}

std::string posted(const std::string& who, UtcTime at, const std::string& values) {
  return fmt::format(R"({{{},"at":"{}","kind":"reading","values":{{{}}},"by":"tester"}})", who, utc_text(at), values);
}
std::string rain(double mm) { return fmt::format(R"("precipitation_amount":{{"value":{},"unit":"mm"}})", mm); }
const std::string kGauge = R"("station":"gauge","position":[150.03,-37],"elevation_m":200)";

TEST_F(Observed, ReadingsPostedOfAStationCountAsThoseOfAFeed) {
  see(12, 20, 3, true);
  foretell(12);
  enter(EntryKind::observation, "", posted(kGauge, at(13), rain(20)));
  enter(EntryKind::observation, "", posted(R"("station":"gauge")", at(14), rain(21)));
  enter(EntryKind::observation, "", posted(R"("station":"nobody knows where")", at(15), rain(90)));
  enter(EntryKind::observation, "", posted(R"("station":"hut")", at(16), rain(7)));
  enter(EntryKind::observation, "", posted(R"("station":"gauge")", at(17), R"("kbdi":{"value":1,"unit":"mm"})"));
  ASSERT_TRUE(engine_->judge_again({"u"}));
  const core::UnitHours now = hours();
  const auto fell = [&](int h) { return now["precipitation_amount"][index(now, h)]; };
  EXPECT_EQ(fell(12), 3);
  EXPECT_EQ(fell(13), 20) << "the gauge is nearer than the hut";
  EXPECT_EQ(fell(14), 21) << "and stays where it was";
  EXPECT_EQ(fell(15), 3);
  EXPECT_EQ(fell(16), 7) << "a correction of what the feed says of the hut";
  foretell(30);
  EXPECT_LT(kbdi_after(date_of(3, 30)), 30) << "from 80; the 24 mm of the hut alone leave more than 60";
  EXPECT_GT(kbdi_after(date_of(3, 30)), 1.5) << "the drought of another place is not that of the unit";
  const std::string from = carried(date_of(3, 30)).provenance;
  const std::string first = picture()->observations.front().id;
  EXPECT_NE(
      from.find(R"("precipitation_amount":{"observation":")" + first + R"(","station":"gauge","distance_km":1.8,"higher_m":0})"),
      std::string::npos)
      << from;
}

TEST_F(Observed, HumidityReadAtAStationIsCarriedToTheUnitAsVapour) {
  foretell(12);
  enter(EntryKind::observation, "",
        posted(R"("position":[150.05,-37],"elevation_m":400)", at(13),
               R"("relative_humidity":{"value":50,"unit":"%"},"air_temperature":{"value":20,"unit":"Cel"})"));
  ASSERT_TRUE(engine_->judge_again({"u"}));
  const core::UnitHours now = hours();
  // 200 m below it is 1.3 degrees warmer. Bolton (1980) eq. 10: 23.37 hPa at 20 degC and 25.33 hPa at 21.3 degC.
  EXPECT_NEAR(now["air_temperature"][index(now, 13)], 21.3, 1e-4);
  EXPECT_NEAR(now["relative_humidity"][index(now, 13)], 50 * 23.37 / 25.33, 0.05);
  ASSERT_EQ(unit().sampling.size(), 2u);
  EXPECT_EQ(unit().sampling[1].station, "-37.0000,150.0500");
}

TEST_F(Observed, ALateReadingOnSiteChangesTheStateItIsNamedIn) {
  foretell(12);
  foretell(30);
  const double before = kbdi_after(date_of(3, 30));
  EXPECT_EQ(carried(date_of(3, 30)).provenance.find("observation"), std::string::npos);
  enter(EntryKind::observation, "", posted(R"("unit":"u")", at(15), rain(30)));
  enter(EntryKind::observation, "", posted(R"("unit":"u")", at(15), rain(60)));
  foretell(54);
  EXPECT_LT(kbdi_after(date_of(3, 30)), before - 40);
  const std::string later = picture()->observations.back().id;
  EXPECT_NE(
      carried(date_of(3, 30))
          .provenance.find(R"({"at":"2027-03-29T15:00:00Z","quantity":"precipitation_amount","observation":")" + later + '"'),
      std::string::npos)
      << carried(date_of(3, 30)).provenance;
}

// What ends long before the newest run began to be read still has hours of use.
TEST_F(Observed, AFileOfLastMonthIsKeptAsLongAsItsHoursCount) {
  see(-24 * 40, 20, 0.5);
  foretell(12);
  std::string next = "station,time_utc,latitude [deg],longitude [deg],elevation [m],precipitation_amount [mm]";
  for (int h = 20; h < 30; ++h) next += fmt::format("\nhut,{},-37,150.05,210,1", utc_text(at(h)));
  put_file("seen", "april.csv", next + "\n");
  foretell(36);
  const auto check = [&] {
    const core::UnitHours now = hours();
    EXPECT_EQ(now["precipitation_amount"][index(now, 19)], 0.5f);
    EXPECT_EQ(now["precipitation_amount"][index(now, 20)], 1);
  };
  check();
  stop();
  start();
  check();
}

TEST_F(Observed, ThatComesLateChangesTheStatesFromItsDayOn) {
  for (const int r : {12, 30, 54}) foretell(r);
  const double first = kbdi_after(date_of(3, 30)), second = kbdi_after(date_of(3, 31));
  see(24, 34, 4);  // in the rain day of 31 March
  set_clock(55.5);
  catch_up();
  EXPECT_EQ(kbdi_after(date_of(3, 30)), first) << "the day before it is as it was";
  // Keetch and Byram take what is above 5 mm of a fall of rain off the drought.
  EXPECT_LT(kbdi_after(date_of(3, 31)), second - 30);
  const double wet = kbdi_after(date_of(3, 31));
  foretell(78);
  EXPECT_NEAR(kbdi_after(date_of(4, 1)), wet, 5) << "and the days after go on from it";
}

TEST_F(Observed, DaysAreNotOverwrittenByForecasts) {
  see(11, 47, 0.4);  // all of the rain day of 31 March, which ends at 47
  foretell(12);
  foretell(48);
  const CarriedRow before = carried(date_of(3, 31));
  EXPECT_TRUE(before.is_observed) << before.provenance;
  put({.name = "late.nc", .reference_h = 24, .rain_from = 1, .rain_to = 20});
  catch_up();
  ASSERT_TRUE(run("fine.2027-03-30T00:00:00Z"));
  EXPECT_EQ(carried(date_of(3, 31)).state, before.state);
  EXPECT_TRUE(carried(date_of(3, 31)).is_observed);
  stop();
  start();
  catch_up();
  EXPECT_EQ(carried(date_of(3, 31)).state, before.state);
  const core::UnitHours now = hours();
  EXPECT_EQ(now["precipitation_amount"][index(now, 30)], 0.4f) << "after a restart too";
}

TEST_F(Observed, MoreOfTheSameFileIsARevision) {
  see(12, 16, 1);
  foretell(12);
  see(12, 20, 1);
  set_clock(21);
  catch_up();
  const core::UnitHours now = hours();
  EXPECT_EQ(now["precipitation_amount"][index(now, 19)], 1);
  EXPECT_EQ(run("seen.2027-03-29T12:00:00Z")->revision, 2);
}

TEST_F(Observed, ByStationsTooFarAwaySaysNothing) {
  enter_unit("far", kMild, 150.9);  // 80 km
  ASSERT_TRUE(engine_->judge_again({"far"}));
  see(12, 20, 3);
  foretell(12);
  const core::UnitHours now = hours_of(unit("far")).front().front();
  EXPECT_EQ(now["precipitation_amount"][index(now, 14)], 0);
  EXPECT_EQ(hours()["precipitation_amount"][index(hours(), 14)], 3);
}

}  // namespace
}  // namespace hakea::test
