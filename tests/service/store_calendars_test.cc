// Calendars in the store: what they show survives reopening as it was, links are hashes that can be taken back.
#include <gtest/gtest.h>

#include "service/store/store.h"
#include "tests/support/must.h"
#include "tests/support/store_rows.h"
#include "tests/support/temp_dir.h"

namespace hakea::service {
namespace {

using std::chrono::days;
using std::chrono::hours;
using test::must;

constexpr UtcTime kNow{std::chrono::seconds(1'806'300'000)};
constexpr LocalDate kDate{days(20910)};

Actor officer() { return test::actor_named("Officer"); }

class StoredCalendars : public ::testing::Test {
 protected:
  StoredCalendars() { open(); }
  void open() {
    store_.reset();
    store_ = must(Store::open(folder_.path(), kNow));
  }
  CalendarStore& calendars() { return *store_->calendars(); }
  void put(std::vector<CalendarEntryRow> rows, std::vector<std::pair<std::string, LocalDate>> no_more = {}) {
    must(calendars().commit_calendars({std::move(rows), std::move(no_more)}));
  }
  CalendarRow made(CalendarRow calendar) { return must(calendars().add_calendar(officer(), kNow, std::move(calendar))); }
  std::string shown_in(const CalendarRow& calendar) {
    std::string all;
    for (const CalendarEntryRow& row : must(calendars().calendar_entries(calendar)))
      all += row.unit + std::to_string(row.entry.date.time_since_epoch().count() - 20910) + " ";
    return all;
  }

  test::TempDir folder_;
  std::unique_ptr<Store> store_;
};

CalendarEntryRow row_of(const std::string& unit, const std::string& district, LocalDate date = kDate, int sequence = 0) {
  CalendarEntryRow row;
  row.unit = unit;
  row.district = district;
  row.entry = {date,
               core::CalendarState::committed,
               {kNow, kNow + hours(6)},
               kNow + hours(3),
               kNow - hours(9),
               sequence,
               kNow - hours(1),
               "Höhe 3; " + unit,
               "why, and\nmore",
               "old",
               "-36.2;149.8"};
  return row;
}

CalendarRow calendar_of(const std::string& district, std::vector<std::string> units, const std::string& hash) {
  CalendarRow calendar;
  calendar.name = "Burn windows";
  calendar.link_hash = hash;
  calendar.owner = "Officer";
  calendar.token_id = "abcdefgh";
  calendar.district = district;
  calendar.units = std::move(units);
  calendar.made_at = kNow;
  calendar.ends_at = kNow + days(90);
  return calendar;
}

TEST_F(StoredCalendars, KeepEveryMemberOfAnEntryThroughReopening) {
  const CalendarEntryRow row = row_of("a", "north", kDate, 7);
  put({row});
  open();
  const auto rows = must(calendars().calendar_entries_of("a"));
  ASSERT_EQ(rows.size(), 1u);
  EXPECT_EQ(rows[0].entry, row.entry);
  EXPECT_EQ(rows[0].district, "north");
}

TEST_F(StoredCalendars, NumberEveryChangeAndNeverGiveANumberAgain) {
  put({row_of("a", "north"), row_of("b", "north")});
  open();
  put({row_of("b", "north", kDate, 1)}, {{"a", kDate}});
  open();
  put({row_of("a", "north")});
  EXPECT_EQ(must(calendars().calendar_entries_of("b"))[0].change, 3);
  EXPECT_EQ(must(calendars().calendar_entries_of("a"))[0].change, 4);
  EXPECT_EQ(must(calendars().units_in_calendars()), (std::vector<std::string>{"a", "b"}));
}

TEST_F(StoredCalendars, ShowADistrictOrChosenUnits) {
  put({row_of("a", "north", kDate + days(1)), row_of("b", "south"), row_of("c", "north"), row_of("d", "")});
  EXPECT_EQ(shown_in(calendar_of("north", {}, "")), "c0 a1 ");
  EXPECT_EQ(shown_in(calendar_of("", {"a", "b", "nobody"}, "")), "b0 a1 ");
  EXPECT_EQ(shown_in(calendar_of("nowhere", {}, "")), "");
}

TEST_F(StoredCalendars, AreFoundByTheirLinksUntilAndAfterTheyAreTakenBack) {
  const CalendarRow first = made(calendar_of("north", {}, "hash-1")), second = made(calendar_of("", {"a", "b"}, "hash-2"));
  EXPECT_EQ(first.id, "c-0001");
  EXPECT_EQ(second.id, "c-0002");
  open();
  const auto found = must(calendars().calendar_of_link("hash-2"));
  ASSERT_TRUE(found);
  EXPECT_EQ(found->id, "c-0002");
  EXPECT_EQ(found->units, (std::vector<std::string>{"a", "b"}));
  EXPECT_EQ(found->ends_at, kNow + days(90));
  EXPECT_FALSE(must(calendars().calendar_of_link("hash-3")));
  must(calendars().take_back_calendar(officer(), kNow + hours(1), "c-0002"));
  EXPECT_EQ(must(calendars().calendar_of_link("hash-2"))->taken_back_at, kNow + hours(1));
  EXPECT_FALSE(must(calendars().calendar("c-0001"))->taken_back_at);
  for (const char* id : {"c-0002", "c-0003", "c-2", ""}) {
    const auto again = calendars().take_back_calendar(officer(), kNow, id);
    ASSERT_FALSE(again) << id;
    EXPECT_EQ(again.error().code, "not_found") << id;
  }
  EXPECT_EQ(must(calendars().all_calendars()).size(), 2u);
}

TEST_F(StoredCalendars, AreAuditedWithoutTheirLinks) {
  made(calendar_of("north", {}, "hash-1"));
  must(calendars().take_back_calendar(officer(), kNow, "c-0001"));
  const auto rows = must(store_->audit(0, 10));
  ASSERT_EQ(rows.size(), 2u);
  EXPECT_EQ(rows[0].action + " " + rows[0].object + " " + rows[0].actor, "take_back calendar/c-0001 Officer");
  EXPECT_EQ(rows[1].action + " " + rows[1].object, "create calendar/c-0001");
  for (const AuditRow& row : rows) EXPECT_EQ((row.before + row.after).find("hash-1"), std::string::npos);
}

TEST_F(StoredCalendars, AreMadeFromOneNamespaceForEver) {
  const auto first = must(store_->note(kCalendarNamespaceNote));
  ASSERT_TRUE(first);
  EXPECT_EQ(first->size(), 36u);
  open();
  EXPECT_EQ(must(store_->note(kCalendarNamespaceNote)), first);
  test::TempDir other;
  EXPECT_NE(must(must(Store::open(other.path(), kNow))->note(kCalendarNamespaceNote)), first) << "each service has its own";
}

}  // namespace
}  // namespace hakea::service
