// What is told, to whom and when: the scripted fortnights, and rules one by one.
#include <gtest/gtest.h>

#include <map>

#include "tests/support/alert_script.h"

namespace hakea::test {
namespace {

using namespace core;
using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

// The alerts of a fortnight as a service keeps them.
struct Desk {
  WatchMemory watched;
  RouteMemory routed;
  std::map<std::string, AlertEvent> events;
  std::set<std::string> acknowledged;
  std::vector<Subscription> subscriptions = script_subscriptions();

  std::vector<AlertMessage> messages(const AlertFacts& facts, UtcTime now) {
    const auto fresh = watch(watched, facts, now);
    for (const AlertEvent& event : fresh) EXPECT_TRUE(events.emplace(event.id, event).second) << event.key << " came twice";
    return route(routed, fresh, subscriptions, acknowledged, now);
  }

  std::vector<Told> look(const AlertFacts& facts, UtcTime now, bool acknowledge) {
    if (acknowledge)
      for (const auto& [id, event] : events) acknowledged.insert(id);
    std::vector<Told> told;
    for (const AlertMessage& message : messages(facts, now)) told.push_back(told_by(message, events));
    return told;
  }
};

std::vector<std::string> lines(const std::vector<Told>& told) {
  std::vector<std::string> all;
  for (const Told& one : told) all.push_back(one.line());
  return all;
}

std::vector<Told> played(const std::string& script) {
  Desk desk;
  auto told = play(read_alert_script(script), [&](const AlertFacts& f, UtcTime t, bool a) { return desk.look(f, t, a); });
  std::stable_sort(told.begin(), told.end(),
                   [](const Told& a, const Told& b) { return std::tie(a.at, a.whom) < std::tie(b.at, b.whom); });
  return told;
}

TEST(Alerts, TheScriptedFortnightIsToldByExactlyItsMessages) {
  const auto expected = lines(expected_of(read_alert_script("alerts_fortnight.csv")));
  ASSERT_GT(expected.size(), 40U);
  const auto told = lines(played("alerts_fortnight.csv"));
  for (std::size_t i = 0; i < std::max(expected.size(), told.size()); ++i) {
    const std::string wanted = i < expected.size() ? expected[i] : "nothing", found = i < told.size() ? told[i] : "nothing";
    ASSERT_EQ(found, wanted) << "message " << i + 1;
  }
}

TEST(Alerts, AnUneventfulFortnightIsToldByNone) { EXPECT_EQ(lines(played("alerts_uneventful.csv")), std::vector<std::string>()); }

// One unit of one district, judged at noon.
struct Small {
  TimeZone zone = script_zone();
  AlertFacts facts;
  Desk desk;
  UtcTime now = script_time("2027-05-01T12:00");

  Small() {
    facts.units.push_back({"u", "d", &zone, true, "r1", true, 1, 0, {}, {}});
    desk.subscriptions = {subscription("s")};
  }
  Subscription subscription(const std::string& id) const {
    Subscription s;
    s.id = id;
    s.events = {"*"};
    s.zone = zone;
    return s;
  }
  UnitFacts& unit() { return facts.units.front(); }
  LocalDate today() const { return zone.date(now); }
  DayFacts& day(int ahead, Verdict verdict, double margin = 2) {
    const LocalDate date = today() + days(ahead);
    std::erase_if(unit().days, [&](const DayFacts& d) { return d.date == date; });
    unit().days.push_back({date, verdict, std::nullopt, false, margin, Confidence::likely});
    if (verdict == Verdict::met)
      unit().days.back().window = TimeSpan{zone.instant(date, hours(13)), zone.instant(date, hours(18))};
    return unit().days.back();
  }
  // A burn of the unit that is alight, by three hours of tomorrow evening.
  void endanger() { facts.burns.push_back({"b", "u", "d", {{{now + hours(30), now + hours(33)}, 1}}}); }
  // The unit, for the window of a day that is met.
  BookingFacts& book(const DayFacts& met) {
    BookingFacts& booking = facts.bookings.emplace_back();
    booking.id = "b-1";
    booking.unit = "u";
    booking.date = met.date;
    booking.was_met = true;
    booking.briefed = met.window;
    return booking;
  }
  // What is told after some time, as a script writes it.
  std::string told(seconds after = seconds(0)) {
    now += after;
    std::string all;
    for (const Told& one : desk.look(facts, now, false)) all += (all.empty() ? "" : "; ") + one.whom + ": " + one.what;
    return all;
  }
};

TEST(Alerts, AWindowIsToldFiveDaysAheadAndNoSooner) {
  Small small;
  small.day(6, Verdict::met);
  EXPECT_EQ(small.told(), "");
  EXPECT_EQ(small.told(hours(12)), "s: window.opened.v1 u/2027-05-07 13:00-18:00");
}

TEST(Alerts, ARunCountsOnceHoweverOftenItIsJudged) {
  Small small;
  small.day(3, Verdict::met, 0.5);
  for (int i = 0; i < 5; ++i) EXPECT_EQ(small.told(hours(1)), "");
  small.unit().run = "r2";
  EXPECT_EQ(small.told(hours(1)), "s: window.opened.v1 u/2027-05-04 13:00-18:00");
}

TEST(Alerts, AMarginThatEqualsTheForecastErrorIsNotBeyondIt) {
  Small small;
  small.day(3, Verdict::met, 1.0);
  EXPECT_EQ(small.told(), "");
}

TEST(Alerts, NothingIsLostByARunThatKnowsLess) {
  Small small;
  small.day(3, Verdict::met);
  small.told();
  small.day(3, Verdict::unknown);
  small.unit().run = "r2";
  EXPECT_EQ(small.told(hours(12)), "");
  small.day(2, Verdict::out);  // the same date, half a day later
  small.unit().run = "r3";
  small.unit().is_run_complete = false;
  EXPECT_EQ(small.told(hours(12)), "");
  small.unit().is_run_complete = true;
  EXPECT_EQ(small.told(), "s: window.lost.v1 u/2027-05-04 13:00-18:00");
}

TEST(Alerts, AWindowsCooldownBeginsAtAMessage) {
  Small small;
  small.day(1, Verdict::met);
  EXPECT_NE(small.told(), "");
  small.day(1, Verdict::out);
  small.unit().run = "r2";
  EXPECT_EQ(small.told(hours(1)), "");
  small.day(1, Verdict::met);  // back before anybody was told
  small.unit().run = "r3";
  EXPECT_EQ(small.told(hours(1)), "");
  EXPECT_EQ(small.told(hours(4)), "") << "the same as was told last";
  small.day(1, Verdict::out);
  small.unit().run = "r4";
  EXPECT_EQ(small.told(hours(1)), "s: window.lost.v1 u/2027-05-02 13:00-18:00");
}

TEST(Alerts, BeyondTheDailyCapTheRestComesRolledUpTheNextMorning) {
  Small small;
  small.desk.subscriptions.front().daily_cap = 2;
  small.desk.subscriptions.front().quiet = QuietHours{hours(21), hours(6)};
  int messages = 0;
  for (int ahead = 1; ahead <= 5; ++ahead) {
    small.day(ahead, Verdict::met);
    messages += small.told(minutes(30)).empty() ? 0 : 1;
  }
  EXPECT_EQ(messages, 2);
  small.endanger();
  EXPECT_EQ(small.told(minutes(30)).substr(0, 23), "s: open_burn.danger.v1 ") << "what is urgent knows no cap";
  for (const auto& [id, event] : small.desk.events) small.desk.acknowledged.insert(id);
  small.now = script_time("2027-05-02T05:30");
  EXPECT_EQ(small.told(), "");
  EXPECT_EQ(small.told(minutes(30)),
            "s: window.opened.v1 u/2027-05-04 13:00-18:00 + window.opened.v1 u/2027-05-05 13:00-18:00 + window.opened.v1 "
            "u/2027-05-06 13:00-18:00");
}

TEST(Alerts, WithoutAnybodyToEscalateToTheSameAreAskedAgainOnce) {
  Small small;
  small.endanger();
  EXPECT_EQ(small.told(), "s: open_burn.danger.v1 u 18:00-21:00");
  EXPECT_EQ(small.told(minutes(59)), "");
  EXPECT_EQ(small.told(minutes(1)), "s: open_burn.danger.v1 u 18:00-21:00");
  EXPECT_EQ(small.told(hours(2)), "");
}

TEST(Alerts, AnOpenBurnIsWatchedWhateverBecomesOfItsPrescription) {
  Small small;
  small.unit().is_confirmed = false;
  small.day(1, Verdict::met);
  small.endanger();
  EXPECT_EQ(small.told(), "s: open_burn.danger.v1 u 18:00-21:00");
}

TEST(Alerts, OfABookedWindowAStopTellsAtOnce) {
  Small small;
  const DayFacts met = small.day(2, Verdict::met);
  small.told();
  small.book(met);
  EXPECT_EQ(small.told(hours(1)), "");
  small.day(2, Verdict::blocked);
  EXPECT_EQ(small.told(hours(1)), "s: booking.window_lost.v1 u/2027-05-03 13:00-18:00");
  EXPECT_EQ(small.told(hours(1)), "");
}

TEST(Alerts, OfABurnUnderWayTheFirstHourThatIsOutEndsIt) {
  Small small;
  const DayFacts met = small.day(0, Verdict::met);
  small.told();
  BookingFacts& booking = small.book(met);
  small.told();
  booking.out_at = script_time("2027-05-01T17:00");
  small.day(0, Verdict::out);  // too few hours are left
  EXPECT_EQ(small.told(hours(2)), "s: booking.closes_earlier.v1 u/2027-05-01 13:00-17:00");
  EXPECT_EQ(small.told(minutes(30)), "");
}

TEST(Alerts, MachinesHearEachEventByItselfAndPeopleHearNoRuns) {
  Small small;
  small.desk.subscriptions.push_back(small.subscription("t"));
  small.desk.subscriptions.back().is_for_people = false;
  small.desk.subscriptions.back().is_grouped = false;
  small.day(1, Verdict::met);
  small.facts.feeds.push_back({"fine", false, "fine.1", ""});
  EXPECT_EQ(
      small.told(),
      "s: window.opened.v1 u/2027-05-02 13:00-18:00; t: window.opened.v1 u/2027-05-02 13:00-18:00; t: run.published.v1 fine.1");
}

TEST(Alerts, WhatIsNotUrgentCountsThoughItComesTogetherWithWhatIs) {
  Small small;
  small.desk.subscriptions.front().is_grouped = false;
  small.desk.subscriptions.front().daily_cap = 1;
  small.day(1, Verdict::met);
  small.facts.burns.push_back({"b", "u", "d", {{{small.now + hours(30), small.now + hours(33)}, 1}}});
  EXPECT_EQ(small.told(), "s: open_burn.danger.v1 u 18:00-21:00; s: window.opened.v1 u/2027-05-02 13:00-18:00");
  small.day(2, Verdict::met);
  EXPECT_EQ(small.told(minutes(30)), "");
}

TEST(Alerts, WhoMayNotHearOfAUnitHearsNothingOfIt) {
  Small small;
  small.desk.subscriptions = {small.subscription("unit"), small.subscription("district"), small.subscription("confidence"),
                              small.subscription("event"), small.subscription("lead")};
  small.desk.subscriptions[0].units = {"v"};
  small.desk.subscriptions[1].districts = {"e"};
  small.desk.subscriptions[2].confidence = {Confidence::firm};
  small.desk.subscriptions[3].events = {"window.lost.v1", "booking.*"};
  small.desk.subscriptions[4].lead_min = hours(48);
  small.day(1, Verdict::met);
  EXPECT_EQ(small.told(), "");
  small.day(1, Verdict::out);
  small.unit().run = "r2";
  EXPECT_EQ(small.told(hours(4)), "") << "nobody was told that it opened";
}

TEST(Alerts, AMessageIsTriedAgainWithinAFifthOfTheSchedule) {
  EXPECT_EQ(wait_after("m", 10), std::nullopt);
  const std::vector<seconds> steps{seconds(5), minutes(5), minutes(30), hours(2), hours(5),
                                   hours(10),  hours(14),  hours(20),   hours(24)};
  std::set<long> second;
  for (int message = 0; message < 200; ++message)
    for (std::size_t i = 0; i < steps.size(); ++i) {
      const auto wait = wait_after("m" + std::to_string(message), static_cast<int>(i) + 1);
      ASSERT_TRUE(wait);
      EXPECT_GE(*wait, steps[i] * 8 / 10 - seconds(1));
      EXPECT_LE(*wait, steps[i] * 12 / 10);
      if (i == 1) second.insert(wait->count());
    }
  EXPECT_GT(second.size(), 60U) << "they do not come all at once";
}

TEST(Alerts, IdsAscendWithTimeAndAreTheSameForTheSame) {
  const UtcTime t = script_time("2027-05-01T12:00");
  EXPECT_EQ(event_id(t, "a"), event_id(t, "a"));
  EXPECT_NE(event_id(t, "a"), event_id(t, "b"));
  EXPECT_LT(event_id(t, "z"), event_id(t + seconds(1), "a"));
  EXPECT_EQ(event_id(t, "a").size(), 26U);
  std::set<std::string> all;
  for (int i = 0; i < 20'000; ++i) all.insert(event_id(t, "unit-" + std::to_string(i)));
  EXPECT_EQ(all.size(), 20'000U);
}

TEST(Alerts, PatternsNameTypesAndNothingBetween) {
  EXPECT_TRUE(names_type("window.*", "window.opened.v1"));
  EXPECT_TRUE(names_type("window.opened.v1", "window.opened.v1"));
  EXPECT_TRUE(names_type("*", "feed.late.v1"));
  EXPECT_FALSE(names_type("window.opened", "window.opened.v1"));
  EXPECT_FALSE(names_type("win.*", "window.opened.v1"));
  EXPECT_FALSE(names_any_type("windows.*"));
  EXPECT_FALSE(names_any_type("subscription.test.v1")) << "that goes to its owner alone";
}

TEST(Alerts, ARareWindowIsToldOnceWhenItIsLikely) {
  Small small;
  small.unit().met_days_a_year = 5;
  small.day(4, Verdict::met).confidence = Confidence::possible;
  EXPECT_EQ(small.told(), "s: window.opened.v1 u/2027-05-05 13:00-18:00");
  small.day(3, Verdict::met).confidence = Confidence::likely;  // another date
  EXPECT_EQ(small.told(hours(1)), "s: window.opened.v1 u/2027-05-04 13:00-18:00 + window.rare.v1 u/2027-05-04 13:00-18:00");
  EXPECT_EQ(small.told(hours(1)), "");
  small.day(4, Verdict::met).confidence = Confidence::likely;
  EXPECT_EQ(small.told(hours(1)), "s: window.rare.v1 u/2027-05-05 13:00-18:00");
  small.day(1, Verdict::met).confidence = Confidence::firm;
  EXPECT_EQ(small.told(hours(1)), "s: window.opened.v1 u/2027-05-02 13:00-18:00") << "too near to plan for";
  small.unit().met_days_a_year = 5.1;
  small.day(2, Verdict::met);
  EXPECT_EQ(small.told(hours(1)), "s: window.opened.v1 u/2027-05-03 13:00-18:00");
  small.unit().met_days_a_year.reset();
  EXPECT_EQ(small.told(hours(1)), "") << "how rare it is is not known";
}

TEST(Alerts, ADigestIsToldOnceADateFromItsHourOnToWhoeverNamesIt) {
  Small small;
  small.desk.subscriptions.push_back(small.subscription("reader"));
  small.desk.subscriptions.back().events = {"digest.*"};
  small.facts.districts.push_back({"d", 3, &small.zone, hours(7)});
  EXPECT_EQ(small.told(), "") << "at noon it is too late for the morning's";
  EXPECT_EQ(small.told(hours(19) - minutes(1)), "");
  EXPECT_EQ(small.told(minutes(1)), "reader: digest.daily.v1 digest/d");
  EXPECT_EQ(small.told(minutes(30)), "");
  EXPECT_EQ(small.told(hours(26)), "reader: digest.daily.v1 digest/d") << "two hours late, as after a stop";
  small.facts.districts.back().zone = nullptr;
  EXPECT_EQ(small.told(hours(22)), "") << "nothing is known of the morning";
}

TEST(Alerts, ABurnThatIsLitIsToldWhenItsHoursEndEarlierAndLosesNoWindow) {
  Small small;
  const DayFacts met = small.day(0, Verdict::met);
  small.told();
  BookingFacts& booking = small.book(met);
  small.told();
  booking.is_lit = true;
  small.day(0, Verdict::blocked);  // an open burn is offered no days
  EXPECT_EQ(small.told(hours(2)), "");
  booking.out_at = script_time("2027-05-01T16:00");
  EXPECT_EQ(small.told(minutes(30)), "s: booking.closes_earlier.v1 u/2027-05-01 13:00-16:00");
  booking.turn = WindTurn{script_time("2027-05-01T15:00"), 80, 40, -1};
  small.unit().days.clear();
  EXPECT_EQ(small.told(minutes(10)), "s: booking.wind_shift.v1 u/2027-05-01 13:00-18:00") << "whatever is judged of its date";
}

TEST(Alerts, TwoSpellsOfOneFrontAreEachToldOnce) {
  Small small;
  const DangerSpell first{{small.now + hours(22), small.now + hours(26)}, 1},
      second{{small.now + hours(32), small.now + hours(34)}, 1};
  small.facts.burns.push_back({"b", "u", "d", {first, second}});
  EXPECT_NE(small.told(), "");
  for (const auto& [id, event] : small.desk.events) small.desk.acknowledged.insert(id);
  for (int look = 0; look < 3; ++look) EXPECT_EQ(small.told(seconds(5)), "");
  small.facts.burns.front().spells = {first};
  EXPECT_EQ(small.told(hours(1)), "");
  small.facts.burns.front().spells = {first, second};
  EXPECT_EQ(small.told(hours(1)), "") << "it was told before";
}

TEST(Alerts, ABookingMadeBeforeThereWasAWindowLosesItUrgently) {
  Small small;
  BookingFacts& booking = small.book(small.day(3, Verdict::near_miss));
  booking.was_met = false;
  booking.briefed.reset();
  EXPECT_EQ(small.told(), "");
  small.day(3, Verdict::met);
  small.unit().run = "r2";
  EXPECT_EQ(small.told(hours(1)), "s: window.opened.v1 u/2027-05-04 13:00-18:00");
  small.day(3, Verdict::out);
  small.unit().run = "r3";
  EXPECT_EQ(small.told(hours(1)), "s: booking.window_lost.v1 u/2027-05-04 13:00-18:00");
}

TEST(Alerts, ANoticeThatWaitedIsToldWhenItsWindowComesBack) {
  Small small;
  small.unit().notice_days = 2;
  small.desk.subscriptions.front().quiet = QuietHours{hours(9), hours(14)};
  small.day(2, Verdict::met);
  EXPECT_EQ(small.told(), "");
  small.day(2, Verdict::out);
  small.unit().run = "r2";
  EXPECT_EQ(small.told(minutes(30)), "");
  small.day(2, Verdict::met);
  small.unit().run = "r3";
  EXPECT_EQ(small.told(hours(2)), "s: window.opened.v1 u/2027-05-03 13:00-18:00 + notice.due.v1 u/2027-05-03 13:00-18:00");
}

TEST(Alerts, WhoWaitsForConfidenceHearsOfAWindowWhenItIsThere) {
  Small small;
  small.desk.subscriptions.front().confidence = {Confidence::firm, Confidence::likely};
  small.desk.subscriptions.push_back(small.subscription("any"));
  small.day(5, Verdict::met).confidence = Confidence::possible;
  EXPECT_EQ(small.told(), "any: window.opened.v1 u/2027-05-06 13:00-18:00");
  small.now += hours(48);
  small.day(3, Verdict::met).confidence = Confidence::likely;  // the same date
  EXPECT_EQ(small.told(), "s: window.changed.v1 u/2027-05-06 13:00-18:00") << "who knows of it hears nothing new";
  EXPECT_EQ(small.told(hours(1)), "");
}

TEST(Alerts, APauseDoesNotForgetWhatWasTold) {
  Small small;
  small.day(3, Verdict::met);
  EXPECT_NE(small.told(), "");
  small.desk.subscriptions.front().is_active = false;
  small.desk.subscriptions.push_back(small.subscription("new"));
  small.desk.subscriptions.back().is_active = false;
  EXPECT_EQ(small.told(hours(1)), "");
  small.day(3, Verdict::out);
  small.unit().run = "r2";
  EXPECT_EQ(small.told(hours(3)), "");
  for (Subscription& subscription : small.desk.subscriptions) subscription.is_active = true;
  EXPECT_EQ(small.told(), "s: window.lost.v1 u/2027-05-04 13:00-18:00") << "who was never active has missed nothing";
}

TEST(Alerts, WhatIsMeasuredIsToldWithItsLimit) {
  Small small;
  BookingFacts& booking = small.book(small.day(1, Verdict::met));
  booking.rain_mm = 6;
  EXPECT_NE(small.told(hours(2)), "");
  const auto rain = std::find_if(small.desk.events.begin(), small.desk.events.end(),
                                 [](const auto& known) { return known.second.kind == AlertKind::booking_rain; });
  ASSERT_NE(rain, small.desk.events.end());
  EXPECT_EQ(rain->second.amount, 6);
  EXPECT_EQ(rain->second.limit, 2);
}

}  // namespace
}  // namespace hakea::test
