// An ensemble too large to be held: its members are put aside and taken up again unit by unit, and nobody can tell.
#include <fmt/format.h>

#include <filesystem>

#include "service/engine/planner.h"
#include "service/engine/series_shelf.h"
#include "service/engine/weather_record.h"
#include "service/input/json.h"
#include "service/input/prescription_json.h"
#include "tests/support/engine_rig.h"
#include "tests/support/must.h"

namespace hakea::test {
namespace {

constexpr const char* kMild = R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":24}})";

class LargeEnsemble : public EngineRig {
 protected:
  // Four days of an ensemble and of a single forecast behind it, with a late run and a restart; what each picture says.
  std::vector<std::string> four_days(std::size_t series_held) {
    settings_.series_held = series_held;
    if (config_.feeds.empty()) {
      add_feed("fine", 72).lagged_runs = 2;
      add_feed("coarse", 96, 3);
      enter_unit("u", kMild);
      enter_unit("v", kMild, 150.4);
    }
    begin_anew();
    std::vector<std::string> said;
    for (int hour = 0; hour <= 72; hour += 12) {
      set_clock(hour + 7);
      if (hour != 36) put({.name = fmt::format("{}.nc", hour), .reference_h = hour, .warmer = hour / 36.0, .members = 5});
      if (hour == 48) put({.name = "36.nc", .reference_h = 36, .members = 5});
      if (hour % 24 == 0)
        put({.name = fmt::format("{}.nc", hour), .feed = "coarse", .reference_h = hour, .last_lead_h = 96, .step_h = 3});
      catch_up();
      said.push_back(everything());
      if (hour == 60) {
        stop();
        start();
        said.push_back(everything());
      }
    }
    stop();
    return said;
  }
  void begin_anew() {
    store_.forget_runs();
    for (const ingest::Feed& feed : config_.feeds)
      for (const auto& file : std::filesystem::directory_iterator(feed.path)) std::filesystem::remove(file);
    set_clock(7);
    start();
  }
  // Days, hours of all members, those of one run, what another prescription would say, and a plan's danger.
  std::string everything() {
    std::string text = text_of(*picture());
    for (const auto& [id, view] : picture()->units) {
      const auto add = [&](const std::vector<std::vector<core::UnitHours>>& points) {
        for (const auto& members : points)
          for (const core::UnitHours& hours : members)
            for (const core::Column& column : hours.columns)
              for (std::size_t i = 0; i < column.size(); ++i) {
                const float value = column[i];
                text.append(reinterpret_cast<const char*>(&value), sizeof value);
              }
      };
      add(hours_of(*view));
      if (view->run) add(must(hours_of(*view, view->run->id)));
      auto warmer = view->unit.prescription;
      warmer.limits.front().acceptable.upper = core::Bound{.value = 26};
      for (const core::Day& day : trial_days(*picture(), *view, warmer))
        text += fmt::format("{} {} {}\n", day.date.time_since_epoch().count(), core::word(day.verdict), day.fit.value_or(-1));
    }
    const Unit& first = unit().unit;
    for (const auto& [date, words] : danger_of(*picture(), first.district, first.prescription.limits.front()).in_words)
      text += words + "\n";
    return text;
  }
};

TEST_F(LargeEnsemble, SaysTheSameToTheBitWhetherHeldOrPutAside) {
  const auto held = four_days(kSeriesHeld), aside = four_days(0);
  ASSERT_EQ(held.size(), aside.size());
  for (std::size_t i = 0; i < held.size(); ++i) EXPECT_TRUE(held[i] == aside[i]) << "picture " << i;
}

// Beside it the days of the whole run before are judged, of all its members too.
TEST_F(LargeEnsemble, SaysTheSameOfARunThatLacksHours) {
  ingest::Feed& fine = add_feed("fine", 72);
  fine.use_incomplete = true;
  fine.late_after = "2h";
  enter_unit("u", kMild);
  const auto said = [&](std::size_t series_held) {
    settings_.series_held = series_held;
    begin_anew();
    put({.name = "0.nc", .reference_h = 0, .members = 2});
    catch_up();
    set_clock(15);
    put({.name = "12.nc", .reference_h = 12, .last_lead_h = 60, .members = 2});
    catch_up();
    EXPECT_EQ(run("fine.2027-03-29T12:00:00Z")->state, "incomplete");
    std::string text = everything();
    EXPECT_EQ(unit().weather->is_whole(), series_held > 0);
    stop();
    return text;
  };
  const std::string held = said(kSeriesHeld);
  EXPECT_NE(held.find("\"verdict\":\"met\""), std::string::npos) << "as the whole run says";
  EXPECT_TRUE(said(0) == held);
}

TEST_F(LargeEnsemble, KeepsOneMemberInMemory) {
  four_days(0);
  start();
  ASSERT_TRUE(unit().weather);
  EXPECT_FALSE(unit().weather->is_whole());
  for (const UnitRunPtr& run : unit().weather->runs())
    for (const auto& members : run->points) EXPECT_EQ(members.size(), 1u) << run->id;
  EXPECT_EQ(unit().weather->members(std::nullopt), 10u) << "two runs of five members";
  EXPECT_EQ(must(whole(unit().weather))->hours(unit().unit, std::nullopt).front().size(), 10u);
}

TEST(SeriesShelf, GivesBackWhatWasPutAndItsRoom) {
  const auto shelf = std::make_shared<SeriesShelf>();
  auto first = must(shelf->put(std::string(100'000, 'a')));
  const auto second = must(shelf->put("bcd"));
  EXPECT_EQ(must(first->read()), std::string(100'000, 'a'));
  first.reset();
  EXPECT_EQ(must(second->read()), "bcd");
  const auto third = must(shelf->put(std::string(10, 'e')));
  EXPECT_EQ(must(third->read()), std::string(10, 'e'));
  EXPECT_EQ(must(second->read()), "bcd");
}

TEST(SeriesShelf, TellsWhereItCannotWrite) {
  const char* const before = std::getenv("TMPDIR");
  const std::string was = before ? before : "";
  ::setenv("TMPDIR", "/there/is/no/such/folder", 1);
  const auto put = std::make_shared<SeriesShelf>()->put("a");
  before ? ::setenv("TMPDIR", was.c_str(), 1) : ::unsetenv("TMPDIR");
  ASSERT_FALSE(put);
  EXPECT_EQ(put.error().code, "unwritable");
}

}  // namespace
}  // namespace hakea::test
