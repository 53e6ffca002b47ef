// A few runs are told to a receiver by a service that is killed at random moments, again and again, until everything is told.
// What it tells then is what a service tells that nobody killed: no event lost, none twice, and what was sent twice was sent
// under the same id. The same with receivers that fail until the service has been started again.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <random>
#include <set>
#include <tuple>

#include "tests/support/told_story.h"

namespace hakea::test {
namespace {

using namespace service;
using std::chrono::milliseconds;

// When the story goes on with a receiver that takes everything: some hours later, or a day and some hours.
double goes_on_at(Receives receives) { return receives == Receives::is_away ? 54.5 : 30.5; }

// The first three runs: a window opens, another is lost, then all are, among them a booked one, and a burn is in danger.
void put_runs(const ToldStory& story) {
  story.put(12);
  story.put(18, 2);
  story.put(24, 16);
}

struct Retold {
  std::multiset<std::string> events, sent;  // as told() has them; `sent` are those of deliveries
  milliseconds first_runs{};                // how long the first three took
};

// Everything that holds of a story at its end, whoever was killed in it.
Retold outcome_of(const ToldStory& story, Receives receives) {
  Retold outcome;
  std::map<std::string, EventRow> events;
  for (EventRow& event : story.events()) {
    outcome.events.insert(told(event));
    events.emplace(event.id, std::move(event));
  }
  std::set<std::string> delivered;
  for (const DeliveryRow& row : story.deliveries()) {
    EXPECT_TRUE(row.events.size() == 1 || row.is_escalation) << row.id << ": only what nobody answered is told together";
    for (const std::string& id : row.events) outcome.sent.insert((row.is_escalation ? "again " : "") + told(events.at(id)));
    if (row.state == "delivered") delivered.insert("msg_" + row.events.front() + (row.is_escalation ? "_again" : ""));
    if (row.state == "delivered") continue;
    EXPECT_EQ(row.state, "expired") << row.id << ": " << row.last_error;
    EXPECT_TRUE(receives == Receives::is_away && row.expires_at <= *row.ended_at) << row.id;
  }
  std::map<std::string, std::string> bodies;
  std::set<std::string> taken;
  for (const HttpsReceiver::Message& message : story.receiver.messages()) {
    EXPECT_EQ(bodies.emplace(message.id, message.body).first->second, message.body) << message.id << " is another message";
    if (message.is_taken) taken.insert(message.id);
  }
  EXPECT_EQ(taken, delivered);
  for (const auto& [id, body] : bodies)
    EXPECT_TRUE(events.contains(id.substr(4, id.find('_', 4) - 4))) << id << " is of no event: " << body;
  return outcome;
}

// The last three lives are always the same: until everything is decided, then until everything is sent.
void live_on(ToldStory& story, Receives receives, const std::function<void(Daemon&)>& end_first) {
  {
    const auto service = story.life(26.2);
    EXPECT_TRUE(story.waits_until([](AlertStore& kept) { return is_told(kept, "fine.2027-03-30T00:00:00Z"); })) << service->log();
    end_first(*service);
  }
  story.mend();
  const double later = goes_on_at(receives);
  story.put(static_cast<int>(later));
  const std::string last = receives == Receives::is_away ? "fine.2027-03-31T06:00:00Z" : "fine.2027-03-30T06:00:00Z";
  const auto service = story.life(later);
  EXPECT_TRUE(story.waits_until([&](AlertStore& kept) { return is_told(kept, last) && is_all_sent(kept); })) << service->log();
  EXPECT_EQ(service->end(SIGTERM), 0);
}

Retold never_killed(Receives receives) {
  ToldStory story(HAKEA_PROGRAM, Receives::takes);
  put_runs(story);
  const Stopwatch since_start;
  milliseconds first_runs{};
  live_on(story, receives, [&](Daemon& service) {
    EXPECT_TRUE(story.waits_until(is_all_sent));
    first_runs = milliseconds(std::lround(since_start.seconds() * 1000));
    EXPECT_EQ(service.end(SIGTERM), 0);
  });
  Retold outcome = outcome_of(story, receives);
  outcome.first_runs = first_runs;
  return outcome;
}

std::string differences(const std::multiset<std::string>& wanted, const std::multiset<std::string>& found) {
  std::string text;
  for (const auto& [name, from, without] : {std::tuple("lost", &wanted, &found), std::tuple("more", &found, &wanted)}) {
    std::vector<std::string> only;
    std::set_difference(from->begin(), from->end(), without->begin(), without->end(), std::back_inserter(only));
    for (const std::string& one : only) text += std::string(name) + ": " + one + "\n";
  }
  return text;
}

void replay(int number, const Retold& wanted) {
  constexpr Receives kAll[] = {Receives::takes,     Receives::fails,      Receives::takes,   Receives::hangs,
                               Receives::redirects, Receives::is_private, Receives::is_away, Receives::takes};
  const Receives receives = kAll[static_cast<std::size_t>(number) % std::size(kAll)];
  SCOPED_TRACE("replay " + std::to_string(number) + ", the receiver " + word(receives));
  std::mt19937 random(static_cast<unsigned>(20270330 + number));
  const auto most_ms = static_cast<unsigned>(wanted.first_runs.count()) + 1;
  ToldStory story(HAKEA_PROGRAM, receives);
  put_runs(story);
  for (unsigned kills = 1 + random() % 2; kills > 0; --kills) {
    const auto service = story.life(26.2, Daemon::Returns::at_once);
    std::this_thread::sleep_for(milliseconds(random() % most_ms));
    EXPECT_EQ(service->end(SIGKILL), -SIGKILL) << service->log();
  }
  live_on(story, receives, [&](Daemon& service) {
    std::this_thread::sleep_for(milliseconds(random() % 100));
    EXPECT_EQ(service.end(SIGKILL), -SIGKILL) << service.log();
  });
  const Retold found = outcome_of(story, receives);
  EXPECT_EQ(differences(wanted.events, found.events), "");
  EXPECT_EQ(differences(wanted.sent, found.sent), "");
}

TEST(Replay, KilledAtRandomMomentsItTellsWhatItWouldHaveTold) {
  const Retold usual = never_killed(Receives::takes), day_away = never_killed(Receives::is_away);
  ASSERT_GT(usual.sent.size(), 25U);
  for (const char* kind :
       {"run.published.v1", "window.opened.v1", "window.lost.v1", "booking.window_lost.v1", "open_burn.danger.v1"})
    EXPECT_TRUE(std::any_of(usual.sent.begin(), usual.sent.end(), [&](const std::string& one) { return one.starts_with(kind); }))
        << kind;
  ASSERT_FALSE(HasFailure());
  for (int number = 0; number < HAKEA_REPLAYS && !HasFailure(); ++number) replay(number, number % 8 == 6 ? day_away : usual);
}

}  // namespace
}  // namespace hakea::test
