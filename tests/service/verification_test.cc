// Forecasts against what was observed, through the whole engine on made-up runs: four degrees too warm, for two weeks.
#include "service/engine/verification.h"

#include <fmt/format.h>

#include "core/weather/humidity.h"
#include "service/engine/corrected.h"
#include "service/engine/planner.h"
#include "service/input/json.h"
#include "service/output/time_text.h"
#include "service/output/verification_json.h"
#include "service/tell/digest.h"
#include "tests/support/engine_rig.h"
#include "tests/support/plan_check.h"

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
  void two_weeks(
      double warmer = 4, const std::function<void()>& between = [] {}) {
    start();
    for (int day = 0; day < kRuns; ++day) {
      put_run(day, warmer);
      between();
      set_clock(12 + 24 * day + 7.5);
      between();
      observe(12 + 24 * (day - 1), 12 + 24 * day);
      between();
      ASSERT_TRUE(engine_->judge_again({"u"}));
      between();
      catch_up();
      between();
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
  // All that is proposed of the dates at hand, and why the rest is not.
  std::string plan() {
    const auto now = picture();
    const DistrictView& district = now->districts.find("d")->second;
    const auto dates = dates_at_hand(*now, "d");
    PlanWish wish;
    wish.from = dates->first, wish.to = dates->second, wish.means = district.district.means;
    const auto proposal = propose_burns(*now, district, wish, try_every_choice);
    if (!proposal) return proposal.error().what;
    std::string text = fmt::format("{} of {}\n", (*proposal)->value, (*proposal)->bound);
    for (const core::ProposedBurn& burn : (*proposal)->burns)
      text += fmt::format("{} {} {}\n", burn.unit, date_text(burn.date), utc_text(burn.window.latest_light_up));
    for (const core::LostPair& lost : (*proposal)->lost)
      text += fmt::format("{} {} {}: {}\n", lost.unit, date_text(lost.date), core::word(lost.kind), lost.text);
    return text;
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
  EXPECT_FALSE(v.windows.contains({"fine", 0})) << "issued at ten in the evening: of that day there is nothing left to call";
  const auto next_day = v.windows.find({"fine", 1});
  ASSERT_NE(next_day, v.windows.end());
  const Digest digest = make_digest(*picture(), picture()->districts.find("d")->second, date_of(4, 10), nullptr);
  const auto said = std::find(digest.head.begin(), digest.head.end(),
                              fmt::format("Of 0 windows called a day ahead in the last 60 days 0 came; {:g} came that were not "
                                          "called.",
                                          next_day->second.table.misses));
  EXPECT_NE(said, digest.head.end()) << fmt::format("{}", fmt::join(digest.head, "\n"));
}

// What nobody measures cannot be said to have come: the wind is foretold, and the thermometer on site has none.
TEST_F(VerificationTest, LeavesLimitsAsideThatNobodyMeasures) {
  enter(EntryKind::prescription, "u/main",
        fmt::format(R"({{"limits":[{{"quantity":"wind_speed","scope":"each_hour","kind":"hard","acceptable":{{"min":1}}}},{}],
    "within":{{"from":"09:00","to":"17:00"}},"duration_h":4,"confirmed":{{"by":"x","at":"2027-03-01T10:00:00+10:00"}}}})",
                    kMild));
  start();
  constexpr int kHotDay = 5;
  for (int day = 0; day < kRuns; ++day) {
    put_run(day, 0);
    // A run of the morning, before the light-up hours.
    put({.name = fmt::format("{}m.nc", day), .reference_h = 22 + 24 * day});
  }
  set_clock(22 + 24 * (kRuns - 1) + 7.5);
  for (int hour = 12; hour < 24 * (kRuns - 1); ++hour)
    enter(EntryKind::observation, "",
          fmt::format(R"({{"unit":"u","at":"{}","kind":"reading","values":{{"air_temperature":{{"value":{},"unit":"Cel"}}}}}})",
                      utc_text(at(hour)), warmth(hour) + (hour / 24 == kHotDay ? 8 : 0)));
  ASSERT_TRUE(engine_->judge_again({"u"}));
  catch_up();
  ASSERT_TRUE(unit().verified);
  const Verification& v = *unit().verified;
  EXPECT_EQ(v.left_aside, std::vector<std::size_t>{0});
  EXPECT_NE(tables().find(R"("left_aside":[{"limit":0,"quantity":"wind_speed","scope":"each_hour"}])"), std::string::npos);
  const auto next_day = v.windows.find({"fine", 1}), same_day = v.windows.find({"fine", 0});
  ASSERT_TRUE(next_day != v.windows.end() && same_day != v.windows.end());
  EXPECT_GE(next_day->second.table.hits, 15) << "two runs a day called it";
  EXPECT_EQ(next_day->second.table.false_alarms, 2) << "the hot day, by both";
  EXPECT_EQ(next_day->second.table.misses, 0);
  EXPECT_EQ(same_day->second.table.false_alarms, 1) << "the run of the morning alone";
  const Digest digest = make_digest(*picture(), picture()->districts.find("d")->second, date_of(4, 10), nullptr);
  EXPECT_NE(fmt::format("{}", fmt::join(digest.head, "\n")).find("; limits of what nobody measured are left aside."),
            std::string::npos);
}

// Forty runs of an ensemble that is too warm by five degrees and a half and knows too little of its error, against a station
// whose weather goes its own way by up to two degrees.
TEST_F(VerificationTest, CalibratesAnEnsembleByWhatItsForecastsWereWrongBy) {
  constexpr int kDays = 40;
  add_stations();
  std::string table = "station,time_utc,latitude [deg],longitude [deg],elevation [m],air_temperature [Cel]";
  for (int hour = 0; hour < 24 * kDays; ++hour)
    table += fmt::format("\nhut,{},-37,150.05,200,{}", utc_text(at(hour)), warmth(hour) + 2 * std::sin(hour * hour * 0.37));
  put_file("seen", "seen.csv", table + "\n");
  for (int day = 0; day < kDays; ++day)
    put({.name = fmt::format("{}.nc", day), .reference_h = 12 + 24 * day, .warmer = 4, .members = 3});
  set_clock(12 + 24 * (kDays - 1) + 7.5);
  start();
  catch_up();
  ASSERT_TRUE(unit().verified);
  int calibrated = 0;
  for (const auto& [cell, scored] : unit().verified->cells) {
    ASSERT_TRUE(scored.spread);
    EXPECT_LT(scored.spread->ratio(), 0.5) << "errors of 5.5 degrees, a spread of 1.5";
    ASSERT_EQ(scored.spread->ranks().size(), 4u);
    EXPECT_EQ(scored.spread->ranks()[0], static_cast<double>(scored.errors.n)) << "no member ever lay below";
    EXPECT_EQ(scored.calibration.has_value(), scored.errors.n >= core::kPairsForEmos) << cell.lead_days << " " << scored.errors.n;
    if (!scored.calibration) continue;
    ++calibrated;
    EXPECT_LT(scored.calibration->crps, scored.calibration->of_raw / 2);
    // At the middle of the three hours, ten hours behind the local clock.
    const double truth = warmth(3 * cell.three_hours + 1 - 10);
    const core::CalibratedForecast forecast = core::calibrated(scored.calibration->emos, truth + 5.5, 2.25);
    EXPECT_NEAR(forecast.mean(), truth, 0.6);
    EXPECT_NEAR(forecast.standard_deviation(), std::sqrt(2), 0.5) << "that of twice a sine";
  }
  EXPECT_GT(calibrated, 8);
  const auto points = hours_of(unit());
  const auto corrected = corrected_hours(unit(), points);
  ASSERT_TRUE(corrected);
  ASSERT_EQ(corrected->quantities[0], core::quantity_index("air_temperature"));
  int known = 0;
  for (std::size_t i = 0; i < points.front().front().hours; ++i) {
    const double deviation = corrected->deviations[0][i];
    if (std::isnan(deviation)) continue;
    ++known;
    // The first member is the coldest, by its whole spread below their mean, which is 5.5 too warm; it keeps its place.
    const double mean = static_cast<double>(points.front()[1]["air_temperature"][i]);
    EXPECT_NEAR(static_cast<double>(corrected->columns[0][i]), mean - 5.5 - deviation, 1.5) << i;
  }
  EXPECT_GT(known, 24);
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
  ASSERT_EQ(corrected->quantities,
            (std::vector{core::quantity_index("air_temperature"), core::quantity_index("relative_humidity")}));
  int taken_off = 0, would_be_in = 0;
  for (std::size_t i = 0; i < raw.hours; ++i) {
    const double difference = static_cast<double>(raw["air_temperature"][i]) - static_cast<double>(corrected->columns[0][i]);
    EXPECT_TRUE(std::abs(difference - 4) < 0.05 || (difference >= 0 && difference <= 3)) << difference;
    taken_off += difference > 3;
    if (difference > 3) {
      // The vapour is as it was.
      const double humidity = core::relative_humidity({Celsius(static_cast<double>(corrected->columns[0][i])),
                                                       Celsius(static_cast<double>(raw["dew_point_temperature"][i]))})
                                  .value();
      EXPECT_NEAR(static_cast<double>(corrected->columns[1][i]), humidity, 1e-3);
      EXPECT_GT(corrected->columns[1][i], raw["relative_humidity"][i]);
    }
    would_be_in += raw["air_temperature"][i] > 24 && corrected->fit[i] == core::Fit::in;
  }
  EXPECT_GT(taken_off, 24);
  EXPECT_GT(would_be_in, 0);
  for (const core::Day& day : unit().days)
    if (day.date > date_of(4, 10)) {
      EXPECT_NE(day.verdict, core::Verdict::met) << date_text(day.date);
    }
}

// A second point, two degrees colder than the first: an hour is in only where both are, with or without the errors.
TEST_F(VerificationTest, HoursWithoutTheBiasAreHeldAgainstLimitsAtAllPoints) {
  enter_unit("u", R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"min":14,"max":24}})");
  two_weeks();
  auto points = hours_of(unit());
  points.push_back(points.front());
  core::Column& colder = points[1].front()["air_temperature"];
  for (std::size_t i = 0; i < colder.size(); ++i)
    if (!colder.is_missing(i)) colder.set(i, static_cast<double>(colder[i]) - 2, colder.flags(i));
  const auto corrected = corrected_hours(unit(), points);
  ASSERT_TRUE(corrected);
  const core::Column& raw = points.front().front()["air_temperature"];
  int parted = 0;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    const float first = corrected->columns[0][i], taken_off = raw[i] - first, second = colder[i] - taken_off;
    if (std::isnan(first) || std::abs(second - 14) < 0.001F || std::abs(second - 24) < 0.001F) continue;
    const bool is_in = first >= 14 && first <= 24 && second >= 14 && second <= 24;
    EXPECT_EQ(corrected->fit[i] == core::Fit::in, is_in) << first << " " << second;
    parted += taken_off > 3 && first >= 14 && second < 14;
  }
  EXPECT_GT(parted, 0) << "hours that the first point alone would have had in";
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
  EXPECT_TRUE(text_of(*picture()) == days_then);
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

// A rig of its own beside that of a test.
class TwoWeeksApart : public VerificationTest {
 public:
  explicit TwoWeeksApart(bool is_restarted) : is_restarted_(is_restarted) {}
  void TestBody() override {
    SetUp();
    int starts = 0;
    two_weeks(1.5, [&] {
      if (!is_restarted_) return;
      stop();
      start();
      ++starts;
    });
    EXPECT_EQ(starts, is_restarted_ ? 5 * kRuns : 0);
    for (const std::string& text : {tables(), plan(), text_of(*picture())}) said.push_back(text);
  }
  std::vector<std::string> said;

 private:
  bool is_restarted_;
};

TEST(TwoWeeks, AreTheSameWithARestartBetweenAnyTwoSteps) {
  TwoWeeksApart at_a_stretch(false), restarted(true);
  at_a_stretch.TestBody();
  restarted.TestBody();
  ASSERT_EQ(at_a_stretch.said.size(), 3u);
  ASSERT_EQ(restarted.said.size(), 3u);
  EXPECT_EQ(restarted.said[0], at_a_stretch.said[0]);
  EXPECT_EQ(restarted.said[1], at_a_stretch.said[1]);
  EXPECT_TRUE(restarted.said[2] == at_a_stretch.said[2]) << "days and hours";
  EXPECT_EQ(at_a_stretch.said[1].find("0 of 0"), std::string::npos) << "a burn is proposed:\n" << at_a_stretch.said[1];
  EXPECT_NE(at_a_stretch.said[0].find(R"("method":"decaying")"), std::string::npos);
}

// Windows that were called with a chance, some of which came.
Verification called_with(int n, double chance, int came) {
  Verification v;
  ScoredWindows& windows = v.windows[{"fine", 2}];
  for (int i = 0; i < n; ++i) {
    windows.chances.push_back({chance, i < came});
    windows.table.count(chance > 0.5, i < came);
  }
  return v;
}

TEST(VerificationOfADistrict, PutsItsUnitsTogetherAndTellsFromAHundredDaysOn) {
  const Verification a = called_with(60, 0.8, 45), b = called_with(39, 0.25, 12), c = called_with(1, 0.25, 0);
  const auto windows = [](const std::map<std::string, const Verification*>& units) {
    JsonWriter out;
    write_verification(out, "d", units);
    const json::value answer = *parse_json(out.str(), "answer");
    EXPECT_EQ(answer.at("units").as_array().size(), units.size());
    return answer.at("windows").as_array().front();
  };
  const json::value few = windows({{"a", &a}, {"b", &b}});
  EXPECT_EQ(few.at("n").to_number<int>(), 99);
  for (const char* name : {"brier", "reliability", "scores", "called_that_came"}) EXPECT_TRUE(few.at(name).is_null()) << name;
  const json::value enough = windows({{"a", &a}, {"b", &b}, {"c", &c}});
  EXPECT_EQ(enough.at("called_and_came").to_number<int>(), 45);
  EXPECT_EQ(enough.at("not_called_and_came").to_number<int>(), 12);
  EXPECT_EQ(enough.at("called_that_came").at("pct").to_number<int>(), 75);
  const auto& bins = enough.at("reliability").as_array();
  ASSERT_EQ(bins.size(), 2u);
  EXPECT_EQ(bins[0].at("n").to_number<int>(), 40);
  EXPECT_NEAR(bins[0].at("came").to_number<double>(), 0.3, 1e-6);
  EXPECT_NEAR(bins[1].at("from").to_number<double>(), 0.8, 1e-6);
  EXPECT_NEAR(bins[1].at("given").to_number<double>(), 0.8, 1e-6);
  EXPECT_NEAR(bins[1].at("came").to_number<double>(), 0.75, 1e-6);
  // Of 60 trials with a chance of .8 at most 42 succeed with .0427, at most 43 with .0772; at most 52 with .9330, at most 53 with
  // .9692.
  EXPECT_NEAR(bins[1].at("low").to_number<double>(), 43 / 60.0, 1e-6);
  EXPECT_NEAR(bins[1].at("high").to_number<double>(), 53 / 60.0, 1e-6);
  // Murphy's reliability: (60 x .05^2 + 40 x .05^2) / 100.
  EXPECT_NEAR(enough.at("brier").at("reliability").to_number<double>(), 0.0025, 1e-6);
}

}  // namespace
}  // namespace hakea::test
