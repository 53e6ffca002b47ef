// What becomes of a message whose receiver does not take it: tried again under the same id, later and later, until what it tells
// is over or nothing more is to be hoped; the owner hears of it by another way; and what is dead can be sent again.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <optional>
#include <set>

#include "tests/support/told_story.h"

namespace hakea::test {
namespace {

using namespace service;
using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

double hours_of(UtcTime t) { return static_cast<double>((t - made_up_time(0)).count()) / 3600; }

// The delivery of the first window that was told of at a date; none before it is there.
std::optional<DeliveryRow> delivery_of(AlertStore& kept, const std::string& subscription, const std::string& thread) {
  for (const DeliveryRow& row : must(kept.deliveries({.subscription = subscription, .state = {}, .at_most = 10'000}))) {
    const auto event = must(kept.event(row.events.front()));
    if (event && event->type == "window.opened.v1" && event->thread == thread) return row;
  }
  return std::nullopt;
}

struct Failure {
  Receives receives;
  int status;
  const char* error;
};

class Failing : public ::testing::TestWithParam<Failure> {};

TEST_P(Failing, IsARetryThatSaysWhyAndEndsWithWhatItTells) {
  ToldStory story(HAKEA_PROGRAM, GetParam().receives);
  story.put(24);
  std::vector<DeliveryRow> first;
  {
    const auto service = story.life(26.2);
    ASSERT_TRUE(story.waits_until([&](AlertStore& kept) {
      first = must(kept.deliveries({.subscription = {}, .state = "retry", .at_most = 100}));
      return !first.empty();
    })) << service->log();
    EXPECT_EQ(service->end(SIGKILL), -SIGKILL);
  }
  const DeliveryRow& row = first.back();
  EXPECT_EQ(row.attempts, 1);
  EXPECT_EQ(row.last_status, GetParam().status);
  EXPECT_EQ(row.last_error, GetParam().error);
  EXPECT_GE(row.next_at - row.made_at, seconds(4)) << "five seconds times 0.8 to 1.2, from the end of the attempt";
  EXPECT_FALSE(row.ended_at);
  for (const HttpsReceiver::Message& message : story.receiver.messages()) EXPECT_FALSE(message.is_taken);

  // A week later all of it is over: nothing of it is sent, though it would be taken now.
  story.mend();
  const std::size_t came = story.receiver.messages().size();
  std::set<std::string> old;
  for (const DeliveryRow& each : story.deliveries()) old.insert("msg_" + each.events.front());
  const auto service = story.life(26.2 + 7 * 24);
  ASSERT_TRUE(story.waits_until(is_all_sent)) << service->log();
  for (const DeliveryRow& each : story.deliveries())
    if (old.contains("msg_" + each.events.front())) {
      EXPECT_EQ(each.state, "expired") << each.id;
    }
  const auto messages = story.receiver.messages();
  for (std::size_t i = came; i < messages.size(); ++i) EXPECT_FALSE(old.contains(messages[i].id)) << messages[i].body;
}

INSTANTIATE_TEST_SUITE_P(Receivers, Failing,
                         ::testing::Values(Failure{Receives::fails, 500, "the receiver answered 500"},
                                           Failure{Receives::redirects, 302,
                                                   "the receiver answered 302, and redirects are not followed"},
                                           Failure{Receives::is_private, 0, "the host has an address that may not be reached"},
                                           Failure{Receives::is_away, 0, "no connection to the receiver"},
                                           Failure{Receives::hangs, 0, "Timeout was reached"}),
                         [](const auto& one) {
                           std::string name = word(one.param.receives);
                           std::replace(name.begin(), name.end(), ' ', '_');
                           return name;
                         });

TEST(Receivers, WhatFailsForHalfAnHourIsToldToItsOwnerOnceByAnotherWay) {
  ToldStory story(HAKEA_PROGRAM, Receives::fails);
  HttpsReceiver other;
  const std::string second = story.subscribe(other, "o");
  story.put(24);
  const auto tells_of_failing = [&] {
    const auto all = other.messages();
    return std::count_if(all.begin(), all.end(), [&](const HttpsReceiver::Message& message) {
      return message.body.find("subscription.failing.v1") != std::string::npos &&
             message.body.find("\"subject\":\"subscription/" + story.subscription + "\"") != std::string::npos;
    });
  };
  const auto is_tried = [&](int attempts) {
    return [&, attempts](AlertStore& kept) {
      const auto row = delivery_of(kept, story.subscription, "a/2027-04-03");
      return row && row->attempts >= attempts && row->state == "retry";
    };
  };
  {
    const auto service = story.life(26.2);
    ASSERT_TRUE(story.waits_until(is_tried(1))) << service->log();
    EXPECT_EQ(tells_of_failing(), 0) << "it may come back by itself";
    service->end(SIGKILL);
  }
  for (int attempt = 2; attempt <= 4; ++attempt) {
    const auto service = story.life(26.2 + attempt);
    ASSERT_TRUE(story.waits_until([&](AlertStore& kept) { return is_tried(attempt)(kept) && tells_of_failing() > 0; }))
        << service->log();
    service->end(SIGKILL);
  }
  EXPECT_EQ(tells_of_failing(), 1);
}

TEST(Receivers, WhatNobodyTookForThreeDaysIsDeadAndCanBeSentAgain) {
  ToldStory story(HAKEA_PROGRAM, Receives::fails);
  story.put(24);
  // The fifth day ahead is worth telling for longer than it is tried.
  const std::string thread = "a/2027-04-04";
  // The example schedule of Standard Webhooks 1.0.0.
  constexpr std::array<seconds, 9> kSteps{seconds(5), minutes(5), minutes(30), hours(2), hours(5),
                                          hours(10),  hours(14),  hours(20),   hours(24)};
  double at = 26.2;
  DeliveryRow row;
  for (std::size_t attempt = 1; attempt <= kSteps.size() + 1; ++attempt) {
    const auto service = story.life(at);
    const UtcTime begun = made_up_time(at);
    ASSERT_TRUE(story.waits_until([&](AlertStore& kept) {
      const auto found = delivery_of(kept, story.subscription, thread);
      if (found) row = *found;
      return found && row.attempts == static_cast<int>(attempt) && row.state != "sending";
    })) << attempt
        << "\n"
        << service->log();
    if (attempt > kSteps.size()) break;
    ASSERT_EQ(row.state, "retry") << attempt;
    EXPECT_GE(row.next_at - begun, kSteps[attempt - 1] * 4 / 5) << attempt;
    EXPECT_LE(row.next_at - begun, kSteps[attempt - 1] * 6 / 5 + minutes(5)) << attempt;  // and what the story took
    service->end(SIGKILL);
    at = hours_of(row.next_at);
  }
  EXPECT_EQ(row.state, "dead");
  EXPECT_EQ(row.last_status, 500);
  ASSERT_TRUE(row.ended_at);
  EXPECT_GT(row.expires_at, *row.ended_at);

  story.mend();
  const auto service = story.life(hours_of(*row.ended_at) + 0.5);
  const std::string bearer = "Authorization: Bearer " + story.token + "\r\n";
  EXPECT_EQ(service->ask("POST", "/deliveries/" + row.id + "/retry", "", "Content-Length: 0\r\n" + bearer).status, 202);
  ASSERT_TRUE(story.waits_until([&](AlertStore& kept) { return must(kept.delivery(row.id))->state == "delivered"; }))
      << service->log();
  int taken = 0;
  for (const HttpsReceiver::Message& message : story.receiver.messages())
    taken += message.is_taken && message.id == "msg_" + row.events.front() ? 1 : 0;
  EXPECT_EQ(taken, 1) << "under the id it had from the first";
}

}  // namespace
}  // namespace hakea::test
