// Runs arrive, are judged and published: the whole engine on made-up files. This program is its own reader.
#include <fmt/format.h>

#include <fstream>
#include <thread>

#include "core/days/open_burn.h"
#include "ingest/arrival/reader_process.h"
#include "service/engine/carried_json.h"
#include "service/engine/stored_runs.h"
#include "service/input/prescription_json.h"
#include "service/output/time_text.h"
#include "service/tell/alert_words.h"
#include "service/tell/words.h"
#include "tests/support/engine_rig.h"
#include "tests/support/file_bytes.h"
#include "tests/support/must.h"

namespace hakea::test {
namespace {

constexpr const char* kMild = R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":24}})";

class EngineTest : public EngineRig {
 protected:
  // A unit, and the first run of each; the coarse one is warmer and reaches further.
  void start_with_two_feeds() {
    add_feed("fine", 48);
    add_feed("coarse", 120, 3);
    enter_unit("u", kMild);
    start();
    put({.last_lead_h = 48});
    put({.name = "c.nc", .feed = "coarse", .last_lead_h = 120, .step_h = 3, .warmer = 6});
    catch_up();
  }
};

TEST_F(EngineTest, PublishesACompleteRunOnce) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  EXPECT_TRUE(unit().days.empty()) << "before the first run";
  put({});
  catch_up();
  EXPECT_EQ(says(), "met met met") << "30 March to 1 April";
  ASSERT_TRUE(run("fine.2027-03-29T12:00:00Z"));
  EXPECT_EQ(run("fine.2027-03-29T12:00:00Z")->state, "complete");
  EXPECT_TRUE(run("fine.2027-03-29T12:00:00Z")->is_published);
  EXPECT_NE(run("fine.2027-03-29T12:00:00Z")->details.find("\"timings\":{\"read_s\":"), std::string::npos);
  EXPECT_EQ(unit().run->id, "fine.2027-03-29T12:00:00Z");
  ASSERT_EQ(unit().days.front().feeds.size(), 1u);
  EXPECT_EQ(store_.publications, 1);
}

TEST_F(EngineTest, TheSameFileAgainChangesNothing) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  const std::string path = put({});
  catch_up();
  const auto number = picture()->number;
  std::filesystem::copy_file(path, folder_.path() / "copy.nc");
  std::filesystem::rename(folder_.path() / "copy.nc",
                          folder_.path() / "fine" / "copy.nc");  // at once, as files settle at once here
  put({});
  catch_up();
  EXPECT_EQ(picture()->number, number);
  EXPECT_EQ(store_.put_series_calls, 1);
  EXPECT_EQ(store_.publications, 1);
}

TEST_F(EngineTest, H16_AnIncompleteRunIsShownAndPublishedOnceItIsComplete) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  put({.gap_from = 31, .gap_to = 34});
  catch_up();
  EXPECT_TRUE(unit().days.empty());
  const RunRow* row = run("fine.2027-03-29T12:00:00Z");
  ASSERT_TRUE(row);
  EXPECT_EQ(row->state, "incomplete");
  EXPECT_FALSE(row->is_published);
  EXPECT_NE(row->details.find("hours 31-34 of everything"), std::string::npos) << row->details;
  put({.name = "more.nc", .last_lead_h = 40});
  catch_up();
  row = run("fine.2027-03-29T12:00:00Z");
  EXPECT_EQ(row->state, "complete") << row->details;
  EXPECT_EQ(row->revision, 1);
  EXPECT_EQ(says(), "met met met");
}

TEST_F(EngineTest, AFileThatGotWorseDoesNotTakeThePublishedRunAway) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  put({});
  catch_up();
  const auto number = picture()->number;
  put({.gap_from = 31, .gap_to = 34});  // over the whole one
  catch_up();
  EXPECT_TRUE(run("fine.2027-03-29T12:00:00Z")->is_published);
  EXPECT_EQ(run("fine.2027-03-29T12:00:00Z")->state, "complete");
  EXPECT_EQ(picture()->number, number);
  ASSERT_EQ(engine_->troubles().size(), 1u);
  EXPECT_NE(engine_->troubles()[0].find("it lacks hours 31-34"), std::string::npos) << engine_->troubles()[0];
  stop();
  start();
  EXPECT_EQ(says(), "met met met");
  put({});
  catch_up();
  EXPECT_TRUE(engine_->troubles().empty()) << "the whole one is there again";
}

TEST_F(EngineTest, ALateIncompleteRunIsUsedWhereTheFeedSaysSoAndOpensNoWindow) {
  ingest::Feed& fine = add_feed("fine", 72);
  fine.use_incomplete = true;
  fine.late_after = "9h";
  enter_unit("u", kMild);
  start();
  put({.last_lead_h = 50});
  catch_up();
  EXPECT_TRUE(unit().days.empty());
  set_clock(21.5);
  catch_up();
  EXPECT_TRUE(run("fine.2027-03-29T12:00:00Z")->is_published);
  EXPECT_EQ(run("fine.2027-03-29T12:00:00Z")->state, "incomplete");
  EXPECT_EQ(verdict(date_of(3, 30)), "unknown") << "nothing stood before it";
  put({.name = "rest.nc"});
  catch_up();
  EXPECT_EQ(run("fine.2027-03-29T12:00:00Z")->revision, 2);
  EXPECT_EQ(verdict(date_of(3, 30)), "met");
}

TEST_F(EngineTest, ARunFromTheFutureIsRefused) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  put({.name = "ahead.nc", .reference_h = 21});
  catch_up();
  const RunRow* ahead = run("fine.2027-03-29T21:00:00Z");
  ASSERT_TRUE(ahead);
  EXPECT_EQ(ahead->state, "refused");
  EXPECT_NE(ahead->details.find("ahead of now"), std::string::npos) << ahead->details;
  EXPECT_TRUE(unit().days.empty());
}

TEST_F(EngineTest, DamagedTruncatedAndForeignFilesAreRefusedAndTheServiceGoesOn) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  const std::string whole = file_bytes(put({}));
  put_file("fine", "cut.nc", whole.substr(0, whole.size() / 2));
  put_file("fine", "notes.nc", "not a forecast");
  std::string damaged = whole;
  for (std::size_t i = 200; i < damaged.size(); i += 97) damaged[i] = '\x55';
  put_file("fine", "damaged.nc", damaged);
  put_file("fine", "empty.nc", "");
  catch_up();
  for (const char* name : {"cut.nc", "notes.nc", "damaged.nc", "empty.nc"}) {
    ASSERT_TRUE(refused(name)) << name;
    EXPECT_FALSE(refused(name)->why.empty()) << name;
    EXPECT_FALSE(refused(name)->hint.empty()) << name;
  }
  EXPECT_EQ(verdict(date_of(3, 30)), "met");
}

TEST_F(EngineTest, RefusedFilesAreMovedAsideOnlyWhereTheFeedSaysSo) {
  add_feed("fine", 72);
  const auto aside = folder_.path() / "refused";
  feed(0).set_aside = aside.string();
  enter_unit("u", kMild);
  start();
  put({});
  put_file("fine", "notes.nc", "not a forecast");
  catch_up();
  EXPECT_TRUE(std::filesystem::exists(folder_.path() / "fine" / "notes.nc")) << "without keep nothing is touched";
  stop();

  feed(0).keep = 2;
  start();
  catch_up();
  EXPECT_FALSE(std::filesystem::exists(folder_.path() / "fine" / "notes.nc")) << "refused before the restart";
  EXPECT_TRUE(std::filesystem::exists(folder_.path() / "fine" / "run.nc"));
  EXPECT_NE(refused("notes.nc")->hint.find("moved to " + aside.string()), std::string::npos) << refused("notes.nc")->hint;

  std::ofstream(aside / "mine.txt") << "put here by somebody";
  set_clock(20);
  for (const char* name : {"a.nc", "b.nc", "c.nc"}) put_file("fine", name, std::string("not a forecast either: ") + name);
  catch_up();
  std::vector<std::string> left;
  for (const auto& entry : std::filesystem::directory_iterator(aside)) left.push_back(entry.path().filename().string());
  std::sort(left.begin(), left.end());
  EXPECT_EQ(fmt::format("{}", fmt::join(left, " ")), "20270329T200000Z.b.nc 20270329T200000Z.c.nc mine.txt");
  ASSERT_TRUE(refused("a.nc")) << "the record stays";
  EXPECT_EQ(verdict(date_of(3, 30)), "met");
}

TEST_F(EngineTest, AMoveAsideThatCannotBeDoneIsSaid) {
  add_feed("fine", 72);
  std::ofstream(folder_.path() / "a_file") << "no folder";
  feed(0).set_aside = (folder_.path() / "a_file").string();
  feed(0).keep = 5;
  enter_unit("u", kMild);
  start();
  put_file("fine", "notes.nc", "not a forecast");
  catch_up();
  ASSERT_FALSE(engine_->troubles().empty());
  EXPECT_NE(engine_->troubles().front().find("cannot be moved"), std::string::npos) << engine_->troubles().front();
  const auto number = picture()->number;
  catch_up();
  EXPECT_EQ(picture()->number, number) << "said once";
}

TEST_F(EngineTest, AFileThatIsStillWrittenWaits) {
  add_feed("fine", 72).settle_s = 60;
  enter_unit("u", kMild);
  const std::string path = put({});  // before the engine watches
  start();
  catch_up();
  EXPECT_FALSE(run("fine.2027-03-29T12:00:00Z"));
  std::filesystem::last_write_time(path, std::filesystem::last_write_time(path) - std::chrono::minutes(2));
  catch_up();
  EXPECT_TRUE(run("fine.2027-03-29T12:00:00Z"));
}

TEST_F(EngineTest, AFileStampedByAClockThatIsAheadIsTakenOnceItWasSeenUnchanged) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  const std::string path = put({});
  std::filesystem::last_write_time(path, std::filesystem::last_write_time(path) + std::chrono::hours(1));
  start();
  catch_up();
  EXPECT_TRUE(run("fine.2027-03-29T12:00:00Z"));
}

TEST_F(EngineTest, AnOlderRunThatComesLateIsKeptForThePastAndNotPublished) {
  add_feed("fine", 72);
  enter_unit("u", R"({"quantity":"precipitation_amount","scope":"before","hours":24,"kind":"hard","acceptable":{"max":2}})");
  set_clock(31);
  start();
  put({.name = "new.nc", .reference_h = 30});
  catch_up();
  EXPECT_EQ(verdict(date_of(3, 31)), "unknown") << "the hours before it are not known";
  put({.name = "old.nc", .reference_h = 12});
  catch_up();
  ASSERT_TRUE(run("fine.2027-03-29T12:00:00Z"));
  EXPECT_FALSE(run("fine.2027-03-29T12:00:00Z")->is_published);
  EXPECT_EQ(unit().run->id, "fine.2027-03-30T06:00:00Z");
  EXPECT_EQ(verdict(date_of(3, 31)), "met") << "now they are";
}

TEST_F(EngineTest, TwoFeedsAreSplicedAndJudgedAlone) {
  start_with_two_feeds();
  EXPECT_EQ(verdict(date_of(3, 30)), "met");
  EXPECT_NE(verdict(date_of(4, 1)), "met") << "from the coarse feed";
  const core::Day* day = day_on(unit(), date_of(3, 30));
  ASSERT_EQ(day->feeds.size(), 2u);
  EXPECT_EQ(day->feeds[0].feed, "fine");
  EXPECT_EQ(day->feeds[0].verdict, core::Verdict::met);
  EXPECT_NE(day->feeds[1].verdict, core::Verdict::met);
  EXPECT_EQ(day_on(unit(), date_of(4, 2))->feeds.size(), 1u);
  EXPECT_EQ(unit().run->feed, "fine");
}

// INTERFACE 3 "Members and feeds", of burns that are alight as of days: danger that any feed sees is danger.
TEST_F(EngineTest, H14_TheWorstOfAllFeedsComesToAnOpenBurn) {
  start_with_two_feeds();
  const auto worst = [](const std::vector<std::vector<core::UnitHours>>& points, int from) {
    return core::worst_between(points, UtcHour::of(at(from)), UtcHour::of(at(from + 24)));
  };
  const auto coarse = hours_of(unit(), "coarse.2027-03-29T12:00:00Z");
  ASSERT_TRUE(coarse);
  for (const int from : {24, 72}) {  // both speak, the coarse one alone
    const core::BurnDay main = worst(hours_of(unit()), from), all = worst(hours_of_all_feeds(unit()), from);
    ASSERT_TRUE(main.humidity && all.humidity);
    EXPECT_EQ(all.humidity->value, worst(*coarse, from).humidity->value);
    EXPECT_EQ(all.humidity->value < main.humidity->value - 5, from == 24);
    EXPECT_EQ(all.missing_hours, main.missing_hours);
    core::AlertEvent event;
    event.kind = core::AlertKind::open_burn_danger;
    event.unit = "u";
    event.hours = core::TimeSpan{at(from), at(from + 24)};
    const std::string told = spoken("relative humidity down to", *all.humidity, "%", unit().unit.traits.zone);
    EXPECT_NE(event_row(event, *picture()).data.find(told), std::string::npos) << told;
  }
}

TEST_F(EngineTest, LaggedRunsAreMembersAlsoAfterARestart) {
  add_feed("fine", 72).lagged_runs = 3;
  enter_unit("u", kMild);
  start();
  for (const int r : {12, 18, 24, 30}) {
    set_clock(r + 1);
    put({.name = fmt::format("{}.nc", r), .reference_h = r, .warmer = r == 24 ? 6.0 : 0.0});
    catch_up();
  }
  const auto members = [&](LocalDate date) {
    const core::Day* day = day_on(unit(), date);
    return day->members ? fmt::format("{} of {}", day->members->met, day->members->of) : "one";
  };
  EXPECT_EQ(members(date_of(3, 31)), "2 of 3") << "the oldest is not asked, the warm one disagrees";
  EXPECT_EQ(verdict(date_of(3, 31)), "met");
  EXPECT_EQ(day_on(unit(), date_of(3, 31))->feeds.size(), 1u);
  const std::string before = text_of(*picture());
  stop();
  start();
  EXPECT_TRUE(text_of(*picture()) == before);
}

TEST_F(EngineTest, AStopBlocksAtOnceAndItsLiftingUnblocks) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  put({});
  catch_up();
  enter(EntryKind::stop, "s-1", R"({"scope":{"unit":"u"},"from":"2027-03-31","to":"2027-03-31","kind":"event","why":"race"})");
  ASSERT_TRUE(engine_->judge_again({"u"}));
  EXPECT_EQ(verdict(date_of(3, 31)), "blocked");
  EXPECT_EQ(verdict(date_of(3, 30)), "met");
  enter(EntryKind::stop, "s-1", std::nullopt);
  ASSERT_TRUE(engine_->judge_again({"u"}));
  EXPECT_EQ(verdict(date_of(3, 31)), "met");
}

TEST_F(EngineTest, ATrialIsWhatStoringWouldGive) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  put({});
  catch_up();
  const std::string other =
      R"({"limits":[{"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":20}},
    {"quantity":"litter_moisture","scope":"each_hour","kind":"preference","acceptable":{"max":14}}],
    "within":{"from":"08:00","to":"18:00"},"duration_h":3})";
  const auto prescription = parse_prescription(other);
  ASSERT_TRUE(prescription);
  const auto before = picture();
  const auto trial = trial_days(*before, *before->unit("u"), *prescription);
  enter(EntryKind::prescription, "u/main", other);
  ASSERT_TRUE(engine_->judge_again({"u"}));
  const auto text = [&](const std::vector<core::Day>& days) {
    JsonWriter out;
    for (const core::Day& day : days) write_day(out, day, *prescription, unit().unit.traits.zone);
    return out.str();
  };
  EXPECT_TRUE(text(trial) == text(unit().days));
  EXPECT_EQ(unit().prescription_revision, 2);
}

TEST_F(EngineTest, AReadingStandsAndThoseAfterItFollow) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  put({});
  catch_up();
  const auto kbdi_at_noon = [&] {
    const auto hours = hours_of(unit());
    return hours[0][0]["kbdi"][static_cast<std::size_t>(UtcHour::of(at(26)) - hours[0][0].first)];
  };
  EXPECT_LT(kbdi_at_noon(), 100);
  enter(EntryKind::observation, "1",
        R"({"unit":"u","at":"2027-03-30T05:00:00+10:00","kind":"reading","values":{"kbdi":{"value":120,"unit":"mm"}},"by":"x"})");
  ASSERT_TRUE(engine_->judge_again({"u"}));
  EXPECT_GE(kbdi_at_noon(), 120);
}

TEST_F(EngineTest, ARestartGivesTheSamePictureToTheBit) {
  add_feed("fine", 72);
  add_feed("coarse", 120, 3);
  enter_unit("u", kMild);
  enter_unit("v", R"({"quantity":"kbdi","scope":"same_day","kind":"hard","acceptable":{"max":90}})", 150.4);
  start();
  for (int r = 12; r <= 48; r += 6) {
    set_clock(r + 1);
    put({.name = std::to_string(r) + ".nc", .reference_h = r, .warmer = r / 50.0, .rain_from = 3, .rain_to = 5});
    if (r % 12 == 0)
      put({.name = std::to_string(r) + ".nc", .feed = "coarse", .reference_h = r, .last_lead_h = 120, .step_h = 3});
    catch_up();
  }
  set_clock(49.2);
  ASSERT_TRUE(engine_->judge_again({}));
  const std::string before = text_of(*picture());
  const auto rows = *store_.carried("u");
  ASSERT_GE(rows.size(), 2u);
  stop();
  set_clock(49.2);
  start();
  EXPECT_TRUE(text_of(*picture()) == before);
  catch_up();
  EXPECT_TRUE(text_of(*picture()) == before) << "nothing is evaluated again";
  const auto again = *store_.carried("u");
  ASSERT_EQ(again.size(), rows.size());
  for (std::size_t i = 0; i < rows.size(); ++i) EXPECT_EQ(again[i].state, rows[i].state) << i;
  stop();
  store_.drop_series();
  start();
  catch_up();
  EXPECT_TRUE(text_of(*picture()) == before) << "read again from the files";
}

TEST_F(EngineTest, StatesCarriedDayByDayEqualOneLongRecord) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  for (int r = 12; r <= 72; r += 12) {
    set_clock(r + 1);
    put({.name = std::to_string(r) + ".nc", .reference_h = r, .rain_from = 3, .rain_to = 5});
    catch_up();
  }
  const auto rows = *store_.carried("u");
  ASSERT_EQ(rows.size(), 3u) << "30 and 31 March and 1 April, no day twice";
  // The record goes on from the entered state: at the end of a carried day both say the same.
  const auto hours = hours_of(unit());
  const auto i = static_cast<std::size_t>(UtcHour::of(at(47)) - hours[0][0].first);
  const auto carried = parse_carried(rows[1].state, "");
  ASSERT_TRUE(carried);
  EXPECT_EQ(static_cast<float>(carried->kbdi.value()), hours[0][0]["kbdi"][i]);
}

TEST_F(EngineTest, AStoreThatFailsKeepsThePictureAndIsTriedAgain) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  for (const int write : {1, 2}) {
    start();
    store_.fail_at(write);
    put({.name = std::to_string(write) + ".nc", .reference_h = 11 + write});
    (void)engine_->catch_up();  // the engine may have looked, and failed, by itself already
    catch_up();
    EXPECT_EQ(store_.failures, write) << "once each";
    EXPECT_EQ(unit().run->reference_time, at(11 + write));
    EXPECT_EQ(verdict(date_of(3, 30)), "met");
    stop();
  }
}

TEST_F(EngineTest, ARefusalThatCouldNotBeNotedIsNotForgotten) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  store_.fail_at(1);
  put_file("fine", "notes.nc", "not a forecast");
  (void)engine_->catch_up();
  catch_up();
  EXPECT_EQ(store_.failures, 1);
  ASSERT_TRUE(refused("notes.nc"));
  EXPECT_EQ(store_.files("fine")->size(), 1u);
}

TEST_F(EngineTest, AUnitThatIsNewGetsItsHoursFromTheFilesThatAreThere) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  put({});
  catch_up();
  enter_unit("w", kMild, 149.3);
  ASSERT_TRUE(engine_->judge_again({"w"}));
  ASSERT_TRUE(picture()->unit("w"));
  catch_up();
  EXPECT_EQ(says("w"), says("u"));
}

TEST_F(EngineTest, H16_ReadersSeeAllOldOrAllNew) {
  add_feed("fine", 72);
  for (int i = 0; i < 12; ++i) enter_unit("u" + std::to_string(i), kMild);
  start();
  put({.name = "a.nc"});
  catch_up();
  std::atomic<bool> on{true};
  std::atomic<int> mixed{0}, seen{0};
  std::vector<std::jthread> readers;
  for (int r = 0; r < 3; ++r)
    readers.emplace_back([&] {
      std::uint64_t number = 0;
      while (on) {
        const auto now = picture();
        std::set<std::string> runs;
        for (const auto& [id, view] : now->units) runs.insert(view->run ? view->run->id : "none");
        if (runs.size() != 1 || now->number < number) ++mixed;
        number = now->number;
        ++seen;
      }
    });
  for (int r = 13; r <= 18; ++r) {
    put({.name = std::to_string(r) + ".nc", .reference_h = r});
    catch_up();
    ASSERT_TRUE(engine_->judge_again({"u3"}));
  }
  on = false;
  readers.clear();
  EXPECT_EQ(mixed, 0);
  EXPECT_GT(seen, 100);
}

TEST_F(EngineTest, AFolderThatIsNotThereIsSaidAndMayComeLater) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  std::filesystem::remove_all(folder_.path() / "fine");
  start();
  catch_up();
  ASSERT_FALSE(engine_->troubles().empty());
  std::filesystem::create_directories(folder_.path() / "fine");
  put({});
  catch_up();
  EXPECT_TRUE(engine_->troubles().empty());
  EXPECT_EQ(verdict(date_of(3, 30)), "met");
}

TEST_F(EngineTest, AFeedBecomesLateAndStale) {
  add_feed("fine", 72).late_after = "4h";
  enter_unit("u", kMild);
  start();
  put({.name = "a.nc", .reference_h = 12});
  put({.name = "b.nc", .reference_h = 18});
  catch_up();
  EXPECT_EQ(picture()->feeds[0].freshness, Freshness::current);
  set_clock(28.5);  // 18 + 6 + 4 = 28
  catch_up();
  EXPECT_EQ(picture()->feeds[0].freshness, Freshness::late);
  EXPECT_EQ(unit().freshness, Freshness::late);
  set_clock(31.5);
  catch_up();
  EXPECT_EQ(unit().freshness, Freshness::stale);
}

TEST_F(EngineTest, TheUnitWhoseDaysAreRareComesFirst) {
  add_feed("fine", 72);
  enter_unit("a", kMild);
  enter_unit("b", kMild);
  put({});
  start();
  catch_up();
  EXPECT_EQ(ranked_units(*picture(), date_of(3, 31)).front()->unit.id, "a") << "by id, while nothing is known";
  stop();
  std::string years = "unit,time_utc,air_temperature [Cel]\n";
  for (int hour = 0; hour < 400 * 24; ++hour)
    for (const char* unit : {"a", "b"})
      years += fmt::format("{},{},{}\n", unit, utc_text(at(hour - 500 * 24)), *unit == 'a' || hour % 240 < 24 ? 20 : 30);
  config_.history = {folder_.write("years.csv", years).string()};
  start();
  catch_up();
  EXPECT_EQ(ranked_units(*picture(), date_of(3, 31)).front()->unit.id, "b") << "met on one day in ten";
  EXPECT_NEAR(unit("b").history->rarity().value_or(0), 0.9, 0.02);
}

TEST_F(EngineTest, WithoutPastYearsTheArchiveOfRunsTellsTheHistory) {
  add_feed("fine", 72);
  enter_unit("u", kMild);
  start();
  put({});
  catch_up();
  set_clock(43);
  put({.name = "later.nc", .reference_h = 36, .warmer = 20});
  catch_up();
  const auto history = archive_history(store_, config_, unit().unit, {}, {});
  ASSERT_TRUE(history);
  ASSERT_EQ(history->dates.size(), 2u) << "the night of 29 March and 30 March, as the first run had them";
  EXPECT_EQ(history->dates.back().verdict, core::Verdict::met);
  EXPECT_EQ(history->met, 1);
}

// A feed that leaves out the hours in which its model settles: they are those of the run before, and no state is made of them
// before they have passed.
TEST_F(EngineTest, HoursBeforeTheFirstLeadHourAreThoseOfTheRunBefore) {
  add_feed("fine", 72);
  feed(0).hours->first = 6;
  enter_unit("u", kMild);
  start();
  put({.name = "a.nc", .reference_h = 12, .warmer = 1});
  set_clock(19);
  catch_up();
  const auto warmth = [&](int h) {
    const core::UnitHours hours = hours_of(unit()).front().front();
    const double usual = 16 + 6 * std::sin((h - 22) / 24.0 * 2 * 3.14159265358979);
    return static_cast<double>(hours["air_temperature"][static_cast<std::size_t>(UtcHour::of(at(h)) - hours.first)]) - usual;
  };
  EXPECT_EQ(hours_of(unit()).front().front().first, UtcHour::of(at(18)));
  put({.name = "b.nc", .reference_h = 18, .warmer = 2});
  put({.name = "c.nc", .reference_h = 24, .warmer = 3});
  set_clock(31);
  catch_up();
  const auto check = [&](const char* when) {
    EXPECT_NEAR(warmth(23), 1, 1e-4) << when;
    EXPECT_NEAR(warmth(24), 2, 1e-4) << "issued, but not yet for the feed to say" << when;
    EXPECT_NEAR(warmth(29), 2, 1e-4) << when;
    EXPECT_NEAR(warmth(30), 3, 1e-4) << when;
    for (const CarriedRow& row : must(store_.carried("u"))) EXPECT_LE(row.rain_day, date_of(3, 30)) << when;
  };
  check("");
  stop();
  start();
  check(", after a restart");
}

}  // namespace
}  // namespace hakea::test
