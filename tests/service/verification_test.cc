// Forecasts against what was observed, through the whole engine on made-up runs: four degrees too warm, for two weeks.
#include "service/engine/verification.h"

#include <fmt/format.h>

#include "service/engine/corrected.h"
#include "service/output/time_text.h"
#include "service/output/verification_json.h"
#include "tests/support/engine_rig.h"

namespace hakea::test {
namespace {

constexpr const char* kMild = R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":24}})";
constexpr int kRuns = 12;

class VerificationTest : public EngineRig {
 protected:
  void SetUp() override {
    add_feed("fine", 72);
    enter_unit("u", kMild);
  }
  void put_run(int day, double warmer = 4) {
    put({.name = fmt::format("{}.nc", day), .reference_h = 12 + 24 * day, .warmer = warmer});
  }
  // The weather that the runs are too warm for, from one hour after 2027-03-29T00Z to another.
  void observe(int from, int to) {
    for (int hour = from; hour < to; ++hour)
      enter(EntryKind::observation, "",
            fmt::format(R"({{"unit":"u","at":"{}","kind":"reading","values":{{"air_temperature":{{"value":{},"unit":"Cel"}}}}}})",
                        utc_text(at(hour)), warmth(hour)));
  }
  void two_weeks() {
    start();
    for (int day = 0; day < kRuns; ++day) {
      put_run(day);
      set_clock(12 + 24 * day + 7.5);
      observe(12 + 24 * (day - 1), 12 + 24 * day);
      ASSERT_TRUE(engine_->judge_again({"u"}));
      catch_up();
    }
  }
  static double warmth(int hour) { return 16 + 6 * std::sin((hour - 22) / 24.0 * 2 * 3.14159265358979); }
  void add_stations() {
    ingest::Feed& stations = add_feed("seen", 0);
    stations.hours.reset();
    stations.pattern = "*.csv";
    stations.observed = true;
  }
  // The same weather as two stations saw it: the nearer one was down for a day, where the other one has it wrong by a degree.
  void see(int to) {
    std::string table = "station,time_utc,latitude [deg],longitude [deg],elevation [m],air_temperature [Cel]";
    for (int hour = 0; hour < to; ++hour) {
      if (hour < 60 || hour >= 84) table += fmt::format("\nhut,{},-37,150.05,200,{}", utc_text(at(hour)), warmth(hour));
      table += fmt::format("\npeak,{},-37,150.2,450,{}", utc_text(at(hour)), warmth(hour) - 0.0065 * 250 + 1);
    }
    put_file("seen", "seen.csv", table + "\n");
  }
  std::string tables() {
    JsonWriter out;
    write_verification(out, unit().unit, unit().verified.get());
    return out.str();
  }
};

TEST_F(VerificationTest, IsByLeadHourAndSeasonAndFindsTheBias) {
  two_weeks();
  ASSERT_TRUE(unit().verified);
  const Verification& v = *unit().verified;
  EXPECT_EQ(v.to, at(24 * kRuns - 12 - 12)) << "observations before this day of UTC count";
  const std::size_t temperature = core::quantity_index("air_temperature");
  std::set<int> leads;
  for (const auto& [cell, scored] : v.cells) {
    EXPECT_EQ(cell.feed, "fine");
    EXPECT_EQ(cell.quantity, temperature);
    EXPECT_EQ(cell.season, 1) << "March to May";
    EXPECT_NEAR(scored.errors.bias, 4, 1e-3);
    EXPECT_NEAR(scored.errors.mae, 4, 1e-3);
    leads.insert(cell.lead_days);
    const auto n = scored.errors.n;
    EXPECT_EQ(scored.bias.method, n < 15 ? core::BiasMethod::none : n < 30 ? core::BiasMethod::mean : core::BiasMethod::decaying);
    if (n >= 30) {
      EXPECT_NEAR(scored.bias.bias, 4, 1e-2);
    }
  }
  EXPECT_EQ(leads, (std::set<int>{0, 1, 2, 3})) << "the hour 72 is three days ahead";
  // Every day came, and the runs said that none would: too warm by day.
  for (const auto& [at, windows] : v.windows) {
    EXPECT_EQ(windows.table.hits, 0) << at.second;
    EXPECT_GT(windows.table.misses, 0) << at.second;
    EXPECT_EQ(windows.table.correct_negatives + windows.table.false_alarms, 0) << at.second;
  }
  EXPECT_NE(tables().find(R"("called_that_came":null)"), std::string::npos) << "no percentage from a dozen days";
}

TEST_F(VerificationTest, HoldsForecastsAgainstTheNearestStationHourByHour) {
  add_stations();
  start();
  for (int day = 0; day < kRuns; ++day) {
    put_run(day);
    set_clock(12 + 24 * day + 7.5);
    see(12 + 24 * day);
    catch_up();
  }
  ASSERT_TRUE(unit().verified);
  const Verification& v = *unit().verified;
  EXPECT_EQ(v.to, at(24 * kRuns - 24));
  int days_of_peak = 0;
  std::size_t pairs = 0, wrong = 0;
  for (const auto& [cell, scored] : v.cells) {
    EXPECT_EQ(cell.quantity, core::quantity_index("air_temperature"));
    // Too warm by four; where the peak spoke by three, at the height of the unit.
    pairs += scored.errors.n;
    wrong += static_cast<std::size_t>(std::lround((4 - scored.errors.bias) * static_cast<double>(scored.errors.n)));
  }
  for (const Observer& observer : v.observers) days_of_peak += observer.station == "peak" ? static_cast<int>(observer.hours) : 0;
  ASSERT_EQ(v.observers.size(), 2u);
  EXPECT_EQ(v.observers[0].station, "hut");
  EXPECT_EQ(v.observers[0].feed, "seen");
  EXPECT_NEAR(v.observers[0].km, 3.6, 0.1);
  EXPECT_EQ(v.observers[0].higher_m, 0);
  EXPECT_EQ(v.observers[1].higher_m, 250);
  EXPECT_EQ(days_of_peak, 24);
  // Each hour of the day of the peak was foretold by the runs of 1, 2 and 3 days before and by that of the day itself.
  EXPECT_EQ(wrong, 24u * 3) << "of " << pairs;
  EXPECT_NE(
      tables().find(R"("observed_by":[{"kind":"feed","station":"hut","feed":"seen","distance_km":3.6,"higher_m":0,"hours":)"),
      std::string::npos)
      << tables();
  EXPECT_FALSE(v.windows.empty());
  for (const auto& [at, windows] : v.windows) EXPECT_GT(windows.table.misses, 0) << "days came that were not called";
  const std::string before = tables();
  stop();
  start();
  EXPECT_EQ(tables(), before);
}

// What one picture has no time for comes with the next.
TEST_F(VerificationTest, OfManyUnitsIsMadeAFewAtATime) {
  settings_.verified_at_once = 1;
  add_stations();
  for (const char* id : {"v", "w"}) enter_unit(id, kMild, 150.1);
  see(12 + 24 * 3);
  start();
  for (int day = 0; day < 4; ++day) put_run(day);
  set_clock(12 + 24 * 3 + 7.5);
  catch_up();
  EXPECT_TRUE(picture()->unverified.empty());
  for (const char* id : {"u", "v", "w"}) {
    ASSERT_TRUE(unit(id).verified) << id;
    EXPECT_FALSE(unit(id).verified->cells.empty()) << id;
  }
  stop();
  settings_.verified_at_once = 1'000'000;
  const std::string before = text_of(*last_);
  start();
  EXPECT_TRUE(picture()->unverified.empty());
  EXPECT_EQ(text_of(*picture()), before);
}

TEST_F(VerificationTest, WhatWasReadOnSiteComesBeforeStationsAndPostedStationsCountToo) {
  add_stations();
  see(24);
  start();
  put_run(-1);
  set_clock(12.5);
  for (int hour = 0; hour < 6; ++hour)
    enter(
        EntryKind::observation, "",
        fmt::format(
            R"({{"station":"mast","position":[150.02,-37],"elevation_m":200,"at":"{}","kind":"reading","values":{{"air_temperature":{{"value":{},"unit":"Cel"}}}}}})",
            utc_text(at(hour)), warmth(hour) + 2));
  for (int hour = 0; hour < 3; ++hour)
    enter(EntryKind::observation, "",
          fmt::format(R"({{"unit":"u","at":"{}","kind":"reading","values":{{"air_temperature":{{"value":{},"unit":"Cel"}}}}}})",
                      utc_text(at(hour)), warmth(hour) + 4));
  catch_up();
  set_clock(31.5);
  put_run(0);
  catch_up();
  ASSERT_TRUE(unit().verified);
  const Verification& v = *unit().verified;
  std::map<int, double> bias;  // by three hours of the local day, ten hours ahead of UTC
  for (const auto& [cell, scored] : v.cells)
    if (cell.lead_days == 0) bias[cell.three_hours] = scored.errors.bias;
  ASSERT_TRUE(bias.contains(3) && bias.contains(4) && bias.contains(6));
  EXPECT_NEAR(bias[4], (0 + 2 + 2) / 3.0, 1e-3) << "12 to 15 h: 02 UTC on site, 03 and 04 UTC by the mast";
  EXPECT_NEAR(bias[6], 4, 1e-3) << "18 to 21 h: the hut";
  ASSERT_EQ(v.observers.size(), 3u);
  EXPECT_EQ(v.observers[0].station, "") << "on site";
  EXPECT_EQ(v.observers[0].hours, 3u);
  EXPECT_EQ(v.observers[1].station, "mast");
  EXPECT_EQ(v.observers[1].feed, "");
}

TEST_F(VerificationTest, ShowsWhatHoursWouldBeWithoutTheBiasAndDecidesByTheRawOnes) {
  two_weeks();
  const auto points = hours_of(unit());
  const core::UnitHours& raw = points.front().front();
  const auto corrected = corrected_hours(unit(), points);
  ASSERT_TRUE(corrected);
  ASSERT_EQ(corrected->quantities, std::vector{core::quantity_index("air_temperature")});
  int taken_off = 0, would_be_in = 0;
  for (std::size_t i = 0; i < raw.hours; ++i) {
    const double difference = static_cast<double>(raw["air_temperature"][i]) - static_cast<double>(corrected->columns[0][i]);
    EXPECT_TRUE(std::abs(difference - 4) < 0.05 || (difference >= 0 && difference <= 3)) << difference;
    taken_off += difference > 3;
    would_be_in += raw["air_temperature"][i] > 24 && corrected->fit[i] == core::Fit::in;
  }
  EXPECT_GT(taken_off, 24);
  EXPECT_GT(would_be_in, 0);
  for (const core::Day& day : unit().days)
    if (day.date > date_of(4, 10)) {
      EXPECT_NE(day.verdict, core::Verdict::met) << date_text(day.date);
    }
}

TEST_F(VerificationTest, IsTheSameWhateverCameFirstAndAfterARestart) {
  two_weeks();
  const std::string tables_then = tables(), days_then = text_of(*picture());
  stop();
  start();
  EXPECT_TRUE(tables() == tables_then);
  EXPECT_TRUE(text_of(*picture()) == days_then);
  stop();
  // Everything anew, the runs in another order.
  EngineRig::store_.forget_runs();
  for (const int day : {3, 2, 7, 0, 1, 9, 4, 6, 5, 8})
    std::filesystem::remove(folder_.path() / "fine" / fmt::format("{}.nc", day));
  start();
  catch_up();
  for (const int day : {3, 2, 7, 0, 1, 9, 4, 6, 5, 8}) {
    put_run(day);
    catch_up();
  }
  EXPECT_EQ(tables(), tables_then);
}

TEST_F(VerificationTest, TheWordFallsWhereTheRunsBeforeSaidOtherwise) {
  start();
  for (int day = 0; day < 3; ++day) {
    put_run(day, 0);
    set_clock(12 + 24 * day + 7.5);
    catch_up();
  }
  const auto on = [&](LocalDate date) { return *day_on(unit(), date); };
  EXPECT_EQ(on(date_of(4, 1)).rests_on.runs.of, 2);
  EXPECT_EQ(on(date_of(4, 1)).rests_on.runs.same, 2);
  const core::Confidence before = on(date_of(4, 1)).confidence;
  stop();
  start();
  EXPECT_EQ(on(date_of(4, 1)).rests_on.runs.of, 2) << "read back from the store";
  put_run(3, 20);
  set_clock(12 + 24 * 3 + 7.5);
  catch_up();
  EXPECT_EQ(on(date_of(4, 2)).rests_on.runs.of, 2) << "of the three before, two reached so far";
  EXPECT_EQ(on(date_of(4, 2)).rests_on.runs.same, 0);
  EXPECT_EQ(static_cast<int>(on(date_of(4, 2)).confidence), static_cast<int>(before) + 1);
}

}  // namespace
}  // namespace hakea::test
