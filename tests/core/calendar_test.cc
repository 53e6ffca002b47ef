// The step from an entry of a calendar to the next: what makes it another one, and what leaves it as it was.
#include "core/alert/calendar.h"

#include <gtest/gtest.h>

#include <random>

namespace hakea::core {
namespace {

using std::chrono::days;
using std::chrono::hours;
using Entry = std::optional<CalendarEntry>;

constexpr LocalDate kDate{days(20910)};
constexpr UtcTime kMidnight{days(20910)};  // of that date; the zone is UTC
constexpr UtcTime kRun = kMidnight - hours(36);

UtcTime at(int hour) { return kMidnight + hours(hour); }

// A met day: a window of these hours, of which the last `needed` are for burning.
CalendarDay met(int from, int to, int needed = 3) {
  CalendarDay day;
  day.date = kDate;
  day.verdict = Verdict::met;
  day.window = TimeSpan{at(from), at(to)};
  day.light_until = at(to - needed + 1);
  day.run_time = kRun;
  day.title = "Saddle North kr-014";
  day.text = "met";
  day.as_of = "some hours old";
  return day;
}

CalendarDay says(Verdict verdict) {
  CalendarDay day = met(10, 16);
  day.verdict = verdict;
  day.window.reset();
  day.text = word(verdict);
  return day;
}

CalendarDay of_run(CalendarDay day, int hours_later) {
  day.run_time = kRun + hours(hours_later);
  return day;
}

CalendarDay committed(CalendarDay day) {
  day.is_committed = true;
  return day;
}

// At an hour of the date, or before it.
Entry step(const Entry& before, const CalendarDay& day, int hour = -24) {
  return next_entry(before, day, LocalDate(std::chrono::floor<days>(at(hour)).time_since_epoch()), at(hour));
}

struct Shown {
  CalendarState state;
  int from, to, sequence;
  bool operator==(const Shown&) const = default;
};
void PrintTo(const Shown& shown, std::ostream* out) {
  *out << word(shown.state) << " " << shown.from << "-" << shown.to << " sequence " << shown.sequence;
}
Shown shown(const Entry& entry) {
  EXPECT_TRUE(entry);
  if (!entry) return {CalendarState::lost, 0, 0, -1};
  const auto hour = [](UtcTime t) { return static_cast<int>((t - kMidnight) / hours(1)); };
  return {entry->state, hour(entry->hours.start), hour(entry->hours.end), entry->sequence};
}

constexpr CalendarState kWindow = CalendarState::window, kCommitted = CalendarState::committed, kLost = CalendarState::lost,
                        kUnknown = CalendarState::unknown;

TEST(CalendarEntries, BeginWithAWindowAndWithNothingElse) {
  EXPECT_EQ(shown(step({}, met(10, 16))), (Shown{kWindow, 10, 16, 0}));
  for (const Verdict verdict : {Verdict::unknown, Verdict::near_miss, Verdict::out, Verdict::blocked})
    EXPECT_FALSE(step({}, says(verdict))) << word(verdict);
  CalendarDay draft = met(10, 16);  // an unconfirmed prescription: met, and no window is handed on
  draft.window.reset();
  EXPECT_FALSE(step({}, draft));
}

TEST(CalendarEntries, StayAsTheyAreWhenTheSameIsSaidAgain) {
  const Entry first = step({}, met(10, 16));
  EXPECT_EQ(step(first, met(10, 16), -12), first) << "nor is the time noted at which it was looked at again";
  CalendarDay older = met(10, 16);
  older.as_of = "more hours old";
  EXPECT_EQ(step(first, older, -12), first) << "age alone is no change";
}

TEST(CalendarEntries, CountWhatMovesTheirTimesOrStatus) {
  Entry entry = step({}, met(10, 16));
  entry = step(entry, of_run(met(11, 16), 6), -20);
  EXPECT_EQ(shown(entry), (Shown{kWindow, 11, 16, 1}));
  EXPECT_EQ(entry->changed_at, at(-20));
  entry = step(entry, of_run(says(Verdict::out), 12), -14);
  EXPECT_EQ(shown(entry), (Shown{kLost, 11, 16, 2}));
  EXPECT_EQ(entry->text, "out");
  entry = step(entry, of_run(met(11, 15), 18), -8);
  EXPECT_EQ(shown(entry), (Shown{kWindow, 11, 15, 3})) << "comes back as the same entry, and never counts from the beginning";
  entry = step(entry, committed(of_run(met(11, 15), 18)), -7);
  EXPECT_EQ(shown(entry), (Shown{kCommitted, 11, 15, 4}));
  entry = step(entry, of_run(met(11, 15), 18), -6);
  EXPECT_EQ(shown(entry), (Shown{kWindow, 11, 15, 5}));
}

TEST(CalendarEntries, OfOtherWordsAreChangedAndNotCounted) {
  const Entry first = step({}, met(10, 16));
  CalendarDay other = of_run(met(10, 16), 6);
  other.text = "met, for another reason";
  other.as_of = "an hour old";
  const Entry next = step(first, other, -20);
  EXPECT_EQ(next->sequence, 0);
  EXPECT_EQ(next->changed_at, at(-20));
  EXPECT_EQ(next->text, other.text);
  EXPECT_EQ(next->as_of, "an hour old");
}

TEST(CalendarEntries, NeverLookLikeAWindowWhileNothingIsKnown) {
  for (const bool is_committed : {false, true}) {
    CalendarDay day = says(Verdict::unknown);
    day.is_committed = is_committed;
    const Entry entry = step(step({}, met(10, 16)), day);
    EXPECT_EQ(shown(entry), (Shown{kUnknown, 10, 16, 1}));
    EXPECT_TRUE(is_cancelled(entry->state));
    const Entry out = step(entry, says(Verdict::out), -20);
    EXPECT_EQ(shown(out), (Shown{kLost, 10, 16, 1})) << "cancelled before and after: other words";
    EXPECT_EQ(out->changed_at, at(-20));
    EXPECT_EQ(step(out, says(Verdict::out), -19), out);
  }
}

TEST(CalendarEntries, AreNotMovedByAnOlderRun) {
  const Entry first = step({}, met(10, 16));
  EXPECT_EQ(step(first, of_run(met(8, 12), -6), -20), first);
  EXPECT_EQ(step(first, of_run(says(Verdict::out), -6), -20), first);
  CalendarDay nothing = says(Verdict::unknown);
  nothing.run_time.reset();  // after a start, until a run is read again
  EXPECT_EQ(step(first, nothing, -20), first);
  EXPECT_EQ(shown(step(first, committed(of_run(met(8, 12), -6)), -20)), (Shown{kCommitted, 10, 16, 1}))
      << "people decide whichever run is at hand";
  EXPECT_EQ(shown(step(first, of_run(says(Verdict::blocked), -6), -20)), (Shown{kLost, 10, 16, 1}));
}

TEST(CalendarEntries, AreLostByARunThatLacksSomethingAndNotOpenedByIt) {
  const auto incomplete = [](CalendarDay day) {
    day.is_run_complete = false;
    return of_run(std::move(day), 6);
  };
  EXPECT_FALSE(step({}, incomplete(met(10, 16))));
  const Entry first = step({}, met(10, 16));
  EXPECT_EQ(shown(step(first, incomplete(met(10, 13)))), (Shown{kWindow, 10, 13, 1}));
  const Entry gone = step(first, incomplete(says(Verdict::out)));
  EXPECT_EQ(shown(gone), (Shown{kLost, 10, 16, 1}));
  EXPECT_EQ(step(gone, incomplete(met(10, 16)), -20), gone);
}

// What is left of a window as hours pass: it keeps its beginning, and when it is too late to light it stays as it was.
TEST(CalendarEntries, OfAWindowThatHasBegunStayUntilNoHourIsLeftToLightIn) {
  const Entry first = step({}, met(10, 16));
  CalendarDay left = met(12, 16);
  left.opens_now = true;
  left.text = "what is left of it";
  EXPECT_EQ(step(first, left, 12), first);
  CalendarDay longer = of_run(left, 6);
  longer.window->end = at(18);
  EXPECT_EQ(shown(step(first, longer, 12)), (Shown{kWindow, 10, 18, 1}));
  // 13:00 is the last hour from which three are left.
  EXPECT_EQ(shown(step(first, says(Verdict::out), 13)), (Shown{kLost, 10, 16, 1}))
      << "there is an hour to light in, and it is out";
  EXPECT_EQ(step(first, says(Verdict::out), 14), first) << "too short by the passing of time";
  EXPECT_EQ(shown(step(first, says(Verdict::blocked), 15)), (Shown{kLost, 10, 16, 1})) << "a ban counts until the end";
  EXPECT_EQ(step(first, says(Verdict::blocked), 16), first);
}

TEST(CalendarEntries, OfABurnThatWasLitStayAsTheyWere) {
  const Entry entry = step({}, committed(met(10, 16)));
  for (const Verdict verdict : {Verdict::blocked, Verdict::out, Verdict::unknown}) {
    CalendarDay day = says(verdict);
    day.is_lit = true;
    EXPECT_EQ(step(entry, day, 11), entry) << word(verdict);
  }
}

TEST(CalendarEntries, LeaveTwoDaysAfterTheirDate) {
  CalendarDay over = says(Verdict::unknown);
  over.run_time.reset();  // a picture says nothing of a date that is over
  for (const Entry& entry :
       {step({}, met(10, 16)), step(step({}, met(10, 16)), says(Verdict::out)), step({}, committed(met(10, 16)))}) {
    CalendarDay day = over;
    day.is_committed = entry->state == kCommitted;
    EXPECT_EQ(step(entry, day, 24 + 12), entry);
    EXPECT_EQ(step(entry, day, 3 * 24 - 1), entry);
    EXPECT_FALSE(step(entry, day, 3 * 24));
  }
}

// Whatever comes after what, in whichever order runs come.
TEST(CalendarEntries, ByChanceNeverCountBackAndGiveTheSameForTheSame) {
  std::mt19937 random(20270402);  // NOLINT: the same steps each time
  const auto one_of = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  int cancelled = 0, counted = 0;
  for (int story = 0; story < 400; ++story) {
    Entry entry;
    for (int hour = -30; hour < 30; hour += 1 + one_of(4)) {
      CalendarDay day = one_of(2) ? met(8 + one_of(3), 14 + one_of(3)) : says(static_cast<Verdict>(one_of(5)));
      if (one_of(8) == 0) day.window.reset();
      day = of_run(day, one_of(4) * 6 - 6);
      day.is_committed = one_of(4) == 0;
      day.is_lit = one_of(30) == 0;
      day.is_run_complete = one_of(5) != 0;
      day.opens_now = day.window && hour >= 8;
      const Entry next = step(entry, day, hour);
      EXPECT_EQ(step(next, day, hour), next) << "story " << story << " hour " << hour;
      if (entry) {
        ASSERT_TRUE(next);
        const bool is_moved = !(next->hours == entry->hours) || is_cancelled(next->state) != is_cancelled(entry->state) ||
                              (next->state == kCommitted) != (entry->state == kCommitted);
        EXPECT_EQ(next->sequence, entry->sequence + (is_moved ? 1 : 0)) << "story " << story << " hour " << hour;
        EXPECT_GE(next->changed_at, entry->changed_at);
        counted += is_moved;
      }
      if (next && next->state == kCommitted && !day.is_lit) {
        EXPECT_TRUE(day.is_committed);
      }
      cancelled += next && is_cancelled(next->state);
      entry = next;
    }
  }
  EXPECT_GT(cancelled, 100);
  EXPECT_GT(counted, 100);
}

TEST(CalendarEntries, AreKeptByTheWordsOfTheirStates) {
  for (const CalendarState state : {kWindow, kCommitted, kLost, kUnknown}) EXPECT_EQ(calendar_state_of(word(state)), state);
  EXPECT_FALSE(calendar_state_of("open"));
}

}  // namespace
}  // namespace hakea::core
