// What is told, kept and sent: against the scripted fortnight, a store on disk, and senders that fail in every way.
#include "service/tell/alerts.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <atomic>
#include <thread>

#include "service/deliver/address_guard.h"
#include "service/deliver/courier.h"
#include "service/deliver/letter.h"
#include "service/deliver/signature.h"
#include "service/deliver/webhook.h"
#include "service/tell/alert_memory.h"
#include "service/tell/alert_words.h"
#include "tests/support/alert_script.h"
#include "tests/support/must.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {
namespace {

using namespace service;
using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

// --- what was told, as the store keeps it ---

// The fortnight, with everything that was told written and read again between any two looks.
TEST(AlertMemory, AFortnightThatIsReadAgainAtEveryLookTellsTheSame) {
  const auto rows = read_alert_script("alerts_fortnight.csv");
  MemoryTexts texts;
  std::map<std::string, core::AlertEvent> events;
  std::set<std::string> acknowledged;
  const auto subscriptions = script_subscriptions();
  std::vector<std::string> told;
  for (const Told& one : play(rows, [&](const core::AlertFacts&facts, UtcTime now, bool acknowledge) {
         if (acknowledge)
           for (const auto& [id, event] : events) acknowledged.insert(id);
         AlertMemory memory = read_memory(texts);
         EXPECT_TRUE(changed(texts, memory_texts(memory)).empty()) << "what was read is what was written";
         const auto fresh = core::watch(memory.watched, facts, now);
         for (const core::AlertEvent& event : fresh) events.emplace(event.id, event);
         std::vector<Told> all;
         for (const auto& message : core::route(memory.routed, fresh, subscriptions, acknowledged, now))
           all.push_back(told_by(message, events));
         texts = memory_texts(memory);
         return all;
       }))
    told.push_back(one.line());
  std::sort(told.begin(), told.end());
  std::vector<std::string> expected;
  for (const Told& one : expected_of(rows)) expected.push_back(one.line());
  std::sort(expected.begin(), expected.end());
  EXPECT_EQ(told, expected);
}

TEST(AlertMemory, KeepsWhatIsToldOnceForADate) {
  AlertMemory memory;
  memory.watched.rares["u/2027-05-04"] = memory.watched.digests["d/2027-05-04"] = *parse_date("2027-05-04");
  const AlertMemory again = read_memory(memory_texts(memory));
  EXPECT_EQ(again.watched.rares, memory.watched.rares);
  EXPECT_EQ(again.watched.digests, memory.watched.digests);
}

// --- signing and guarding ---

// Made with another implementation, and accepted by the public standardwebhooks library.
TEST(Webhook, IsSignedAsThePublicLibrarySigns) {
  const std::string key(32, '\x07');
  const UtcTime at{seconds(1806702784)};
  EXPECT_EQ(signatures("msg_1", at, R"({"a":1})", {base64(key)}), "v1,KYGMAfxAK/Qu6PzcRKh6Byej29H28iO8STlBrBcxxTw=");
  EXPECT_EQ(from_base64(base64("any bytes")), "any bytes");
  const std::string both = signatures("msg_1", at, R"({"a":1})", {base64("another"), base64(key)});
  EXPECT_TRUE(both.ends_with(" v1,KYGMAfxAK/Qu6PzcRKh6Byej29H28iO8STlBrBcxxTw=")) << both;
}

TEST(AddressGuard, LetsOutToPublicAddressesAlone) {
  for (const char* text :
       {"0.0.0.0",         "10.1.2.3",       "100.64.0.1", "127.0.0.1", "169.254.169.254", "172.16.0.1", "172.31.255.255",
        "192.168.1.1",     "192.0.2.1",      "198.18.0.1", "224.0.0.1", "255.255.255.255", "::",         "::1",
        "::ffff:10.0.0.1", "::ffff:8.8.8.8", "fc00::1",    "fd12::1",   "fe80::1",         "ff02::1",    "64:ff9b::a00:1",
        "2002:a00:1::",    "2001::1",        "2001:db8::1"})
    EXPECT_FALSE(is_public(parse_address(text).value())) << text;
  for (const char* text :
       {"8.8.8.8", "100.63.255.255", "100.128.0.0", "172.15.255.255", "172.32.0.0", "223.255.255.255", "2600::1", "2a00:1450::1"})
    EXPECT_TRUE(is_public(parse_address(text).value())) << text;
  const std::vector<Network> allowed{parse_network("10.20.0.0/16").value()};
  EXPECT_TRUE(may_reach(parse_address("10.20.3.4").value(), allowed));
  EXPECT_FALSE(may_reach(parse_address("10.21.3.4").value(), allowed));
  for (const char* text : {"10.0.0.0", "10.0.0.0/33", "x/8", "10.0.0.0/-1", "fd00::/129"})
    EXPECT_FALSE(parse_network(text)) << text;
}

TEST(AddressGuard, AWebhookToThisMachineIsNotSentHoweverItIsWritten) {
  for (const char* url : {"https://127.0.0.1/", "https://localhost/", "https://[::1]/", "https://2130706433/", "https://0x7f.1/",
                          "https://[::ffff:127.0.0.1]/", "https://0/"}) {
    const Attempt attempt = send_webhook({url, "msg_1", "{}", "application/json", {base64("k")}}, {}, clock_time());
    EXPECT_FALSE(attempt.is_delivered);
    EXPECT_EQ(attempt.status, 0) << url;
    EXPECT_TRUE(attempt.error.find("may not be reached") != std::string::npos || attempt.error == "the host has no address")
        << url << ": " << attempt.error;
  }
  EXPECT_EQ(send_webhook({"http://8.8.8.8/", "m", "", "", {}}, {}, clock_time()).error, "this is no https URL that can be used");
  EXPECT_EQ(send_webhook({"https://8.8.8.8:8443/", "m", "", "", {}}, {}, clock_time()).error,
            "port 8443 is not among those that may be reached");
}

TEST(Mail, AHeaderCannotEndItsLine) {
  EXPECT_EQ(header_text("a\r\nBcc: b"), "a  Bcc: b");
  EXPECT_EQ(header_text("µ"), "=?UTF-8?B?wrU=?=");
}

// --- the outbox ---

class Outbox : public ::testing::Test {
 protected:
  Outbox() {
    clock.set(script_time("2027-05-01T12:00"));
    store = must(Store::open((folder.path() / "data").string(), clock.now()));
  }
  ~Outbox() override { courier.reset(); }

  AlertStore& alerts() { return *store->alerts(); }
  std::string subscribe(const std::string& owner) {
    const std::string body = fmt::format(
        R"({{"channel":{{"kind":"webhook","url":"https://hooks.shire.example/a"}},"events":["*"],"owner":"{}"}})", owner);
    const Actor actor{.name = owner, .token_id = "", .address = "", .request_id = "", .role = Role::officer};
    const std::string id =
        must(store->write(actor, clock.now(), std::vector<Change>{{EntryKind::subscription, "", body, {}, "create", ""}}))
            .front()
            .id;
    ChannelRow channel;
    channel.subscription = id;
    channel.state = "active";
    channel.secret = base64(std::string(32, 'k'));
    must(alerts().put_channel(channel));
    return id;
  }
  // An event that is worth telling for six hours, and its delivery.
  std::string put(const std::string& subscription, const std::string& name = "one") {
    AlertCommit commit;
    EventRow event = test_event(name, "o", clock.now());
    event.type = "window.opened.v1";
    event.expires_at = clock.now() + hours(6);
    commit.events.push_back(event);
    DeliveryRow delivery;
    delivery.id = event.id + "." + subscription;
    delivery.subscription = subscription;
    delivery.events = {event.id};
    delivery.made_at = delivery.next_at = clock.now();
    delivery.expires_at = event.expires_at;
    commit.deliveries.push_back(delivery);
    must(alerts().commit(commit));
    must(alerts().commit(commit));  // again: nothing is doubled
    return delivery.id;
  }
  void start(Courier::Send send) { courier = must(Courier::start(*store, clock, std::move(send))); }
  DeliveryRow row(const std::string& id) { return must(alerts().delivery(id)).value(); }
  // Waits for a state that must come.
  bool becomes(const std::string& id, const std::string& state) {
    for (int i = 0; i < 400; ++i) {
      if (row(id).state == state) return true;
      courier->wake();
      std::this_thread::sleep_for(std::chrono::milliseconds(25));
    }
    return false;
  }
  static Attempt answered(int status) {
    Attempt attempt;
    attempt.status = status;
    attempt.is_delivered = status == 200;
    if (!attempt.is_delivered) attempt.error = fmt::format("the receiver answered {}", status);
    attempt.is_gone = status == 410;
    return attempt;
  }

  TempDir folder;
  Clock clock;
  std::unique_ptr<Store> store;
  std::unique_ptr<Courier> courier;
};

TEST_F(Outbox, TellsHowManyMessagesWaitAndSinceWhen) {
  EXPECT_EQ(must(alerts().outbox()).waiting, 0);
  EXPECT_FALSE(must(alerts().outbox()).oldest);
  const std::string subscription = subscribe("o");
  const UtcTime begun = clock.now();
  const std::string first = put(subscription);
  clock.set(begun + hours(1));
  const std::string second = put(subscription, "two");
  const Backlog both = must(alerts().outbox());
  EXPECT_EQ(both.waiting, 2);
  EXPECT_EQ(both.oldest, begun);
  start([](const Courier::Parcel&) { return answered(200); });
  ASSERT_TRUE(becomes(first, "delivered") && becomes(second, "delivered"));
  EXPECT_EQ(must(alerts().outbox()).waiting, 0);
}

TEST_F(Outbox, WhatFailsIsTriedAgainUnderTheSameIdUntilItIsTaken) {
  const std::string id = put(subscribe("o"));
  std::mutex lock;
  std::vector<std::string> seen;
  start([&](const Courier::Parcel& parcel) {
    const std::lock_guard hold(lock);
    seen.push_back(parcel.delivery.id);
    return answered(seen.size() < 3 ? 500 : 200);
  });
  ASSERT_TRUE(becomes(id, "retry"));
  EXPECT_EQ(row(id).last_status, 500);
  EXPECT_GT(row(id).next_at, clock.now() + seconds(2));
  clock.set(clock.now() + minutes(1));
  // An attempt is counted as it begins; the next one is reckoned from its end.
  const auto is_tried_twice = [&] { return row(id).attempts == 2 && row(id).state == "retry"; };
  for (int i = 0; i < 200 && !is_tried_twice(); ++i) std::this_thread::sleep_for(std::chrono::milliseconds(25));
  ASSERT_EQ(row(id).attempts, 2);
  ASSERT_EQ(row(id).state, "retry");
  clock.set(clock.now() + minutes(10));
  ASSERT_TRUE(becomes(id, "delivered"));
  EXPECT_EQ(seen, (std::vector<std::string>{id, id, id}));
}

TEST_F(Outbox, WhatNobodyTakesInTimeExpiresAndTheOwnerHearsByAnotherChannel) {
  const std::string failing = subscribe("o"), other = subscribe("o"), strange = subscribe("p");
  const std::string id = put(failing);
  start([&](const Courier::Parcel& parcel) { return answered(parcel.delivery.subscription == failing ? 500 : 200); });
  for (int i = 0; i < 12 && row(id).state != "expired"; ++i) {
    for (int k = 0; k < 20; ++k) std::this_thread::sleep_for(std::chrono::milliseconds(15));
    clock.set(clock.now() + minutes(40));
    courier->wake();
  }
  ASSERT_TRUE(becomes(id, "expired"));
  int told = 0;
  for (const DeliveryRow& delivery : must(alerts().deliveries({{}, {}, 100}))) {
    EXPECT_NE(delivery.subscription, strange);
    told += delivery.subscription == other ? 1 : 0;
  }
  EXPECT_EQ(told, 1) << "once for as long as it fails";
  const auto replayed =
      alerts().replay({.name = "o", .token_id = "", .address = "", .request_id = ""}, clock.now(), clock.now() + hours(1), id);
  ASSERT_TRUE(replayed);
  EXPECT_EQ(row(id).state, "pending");
}

TEST_F(Outbox, ALimitCountsThoseThatWereAskedForOnly) {
  const std::string mine = subscribe("o"), other = subscribe("p");
  const std::string id = put(mine);
  clock.set(clock.now() + minutes(1));
  put(other, "two");
  const auto newest = must(alerts().deliveries({{}, {}, 1, std::set<std::string>{mine}}));
  ASSERT_EQ(newest.size(), 1U);
  EXPECT_EQ(newest.front().id, id);
  EXPECT_TRUE(must(alerts().deliveries({{}, {}, 1, std::set<std::string>{}})).empty());
  EXPECT_TRUE(must(alerts().deliveries({other, {}, 1, std::set<std::string>{mine}})).empty());
}

TEST_F(Outbox, WhoIsGoneIsSentNothingMore) {
  const std::string subscription = subscribe("o");
  const std::string id = put(subscription);
  start([&](const Courier::Parcel&) { return answered(410); });
  ASSERT_TRUE(becomes(id, "dead"));
  EXPECT_EQ(must(alerts().channels()).front().state, "disabled");
  const std::string next = put(subscription, "two");
  EXPECT_TRUE(becomes(next, "expired"));
  EXPECT_EQ(row(next).last_error, "the subscription is paused");
}

TEST_F(Outbox, AStopWhileItIsSentSendsItAgainAfterTheStart) {
  const std::string id = put(subscribe("o"));
  // As a process that was killed left it: leased, and nobody who sends.
  ASSERT_EQ(must(alerts().lease(clock.now(), clock.now() + minutes(2), 10, {})).size(), 1U);
  ASSERT_TRUE(must(alerts().lease(clock.now(), clock.now() + minutes(2), 10, {})).empty());
  std::atomic<int> sent = 0;
  start([&](const Courier::Parcel&) {
    ++sent;
    return answered(200);
  });
  EXPECT_TRUE(becomes(id, "delivered"));
  EXPECT_EQ(sent, 1);
}

TEST_F(Outbox, OneReceiverThatHangsHoldsUpNobodyElse) {
  const std::string slow = subscribe("o"), quick = subscribe("p");
  const std::string first = put(slow, "a"), second = put(slow, "b"), third = put(quick, "c");
  std::atomic<bool> may_go = false;
  std::atomic<int> at_once = 0, most = 0;
  start([&](const Courier::Parcel& parcel) {
    if (parcel.delivery.subscription != slow) return answered(200);
    most = std::max(most.load(), ++at_once);
    while (!may_go) std::this_thread::sleep_for(std::chrono::milliseconds(5));
    --at_once;
    return answered(200);
  });
  EXPECT_TRUE(becomes(third, "delivered"));
  may_go = true;
  EXPECT_TRUE(becomes(first, "delivered") && becomes(second, "delivered"));
  EXPECT_EQ(most, 1) << "one at a time for one receiver";
}

TEST_F(Outbox, MoreThanAThousandThatSomebodyDoesNotTakeKeepNobodyElseWaiting) {
  const std::string slow = subscribe("o"), quick = subscribe("p");
  AlertCommit commit;
  EventRow event = test_event("many", "o", clock.now());
  event.expires_at = clock.now() + hours(6);
  commit.events.push_back(event);
  for (int i = 0; i < 1100; ++i) {
    DeliveryRow delivery;
    delivery.id = fmt::format("{}.{}", event.id, i);
    delivery.subscription = slow;
    delivery.events = {event.id};
    delivery.made_at = delivery.next_at = clock.now() - minutes(1);
    delivery.expires_at = event.expires_at;
    commit.deliveries.push_back(delivery);
  }
  must(alerts().commit(commit));
  const std::string id = put(quick);
  const auto due = must(alerts().lease(clock.now(), clock.now() + minutes(2), 4, {slow}));
  ASSERT_EQ(due.size(), 1U);
  EXPECT_EQ(due.front().id, id);
  const auto first = must(alerts().lease(clock.now(), clock.now() + minutes(2), 4, {}));
  ASSERT_EQ(first.size(), 1U) << "one of them at a time";
  EXPECT_EQ(first.front().subscription, slow);
}

TEST_F(Outbox, ASubscriptionIsStoredWithHowItIsReachedOrNotAtAll) {
  const Actor actor{.name = "o", .token_id = "", .address = "", .request_id = "", .role = Role::officer};
  const Store::Beside beside = [&](std::span<const Entry> written) {
    AlertCommit commit = test_message(written.front().id, "o", clock.now());
    ChannelRow channel;
    channel.subscription = written.front().id;
    commit.channels.push_back(channel);
    return commit;
  };
  const auto write = [&](const std::string& id) {
    const std::vector<Change> changes{{EntryKind::subscription, id, R"({"owner":"o"})", 0, "create", ""}};
    return store->write(actor, clock.now(), changes, nullptr, beside);
  };
  const std::string id = must(write("")).front().id;
  ASSERT_EQ(must(alerts().channels()).size(), 1U);
  EXPECT_EQ(must(alerts().channels()).front().subscription, id);
  EXPECT_EQ(must(alerts().deliveries({id, {}, 10})).size(), 1U);
  clock.set(clock.now() + minutes(1));
  EXPECT_FALSE(write(id)) << "there is one already";
  EXPECT_EQ(must(alerts().deliveries({id, {}, 10})).size(), 1U);
}

TEST(Letter, SaysWhyAndWhatWouldClearItInBothItsParts) {
  EventRow event = test_event("n-0001", "o", UtcTime{seconds(1806702784)});
  event.title = "Window lost: <Saddle> & North";
  event.unit = "saddle-north";
  event.is_answerable = true;
  event.data =
      R"({"date":"2027-04-05","why":["gust 62 km/h, needs at most 50 km/h"],"clears":"two complete runs","basis":{"run":"fine.1"},)"
      R"("demo":"Fictional."})";
  const MailMessage mail = letter({event}, false, "https://burns.example");
  EXPECT_EQ(mail.subject, event.title);
  for (const std::string& body : {mail.text, mail.html}) {
    EXPECT_NE(body.find("gust 62 km/h, needs at most 50 km/h"), std::string::npos) << body;
    EXPECT_NE(body.find("two complete runs"), std::string::npos);
    EXPECT_NE(body.find("fine.1"), std::string::npos);
    EXPECT_NE(body.find("https://burns.example/#/unit/saddle-north?day=2027-04-05"), std::string::npos) << body;
    EXPECT_NE(body.find("To acknowledge: https://burns.example/#/alerts"), std::string::npos) << body;
    EXPECT_EQ(body.find("/api/"), std::string::npos) << "a page for people, not answers for programs";
    EXPECT_NE(body.find("Forecast guidance only."), std::string::npos);
  }
  EXPECT_NE(mail.html.find("&lt;Saddle&gt; &amp; North"), std::string::npos);
  EXPECT_NE(mail.text.find("\r\nFictional.\r\n"), std::string::npos) << mail.text;
}

TEST(Letter, OfADigestIsTheDigest) {
  Digest digest;
  digest.district = "d";
  digest.title = "Tallow, Monday 5 April 2027, 06:30 (+10:00)";
  digest.head = {"Forecast made <early>."};
  digest.cautions = {"Forecast guidance only."};
  digest.sections = {{"Open burns", {{.unit = "u", .text = "Saddle & North is lit.", .date = {}, .verdict = {}}}}};
  core::AlertEvent event;
  event.kind = core::AlertKind::digest_daily;
  event.thread = "digest/d";
  const MailMessage mail = letter({digest_row(event, digest, false)}, false, "https://burns.example");
  EXPECT_EQ(mail.subject, "Digest: Tallow, Monday 5 April 2027, 06:30 (+10:00)");
  EXPECT_EQ(mail.text,
            "Digest: Tallow, Monday 5 April 2027, 06:30 (+10:00)\r\nForecast made <early>.\r\nForecast guidance only.\r\n"
            "\r\nOpen burns\r\n  Saddle & North is lit.\r\n");
  EXPECT_NE(mail.html.find("Forecast made &lt;early&gt;."), std::string::npos) << mail.html;
  EXPECT_NE(mail.html.find("Saddle &amp; North is lit."), std::string::npos) << mail.html;
  EXPECT_EQ(mail.threads, std::vector<std::string>{"digest/d"});
  // Beside an alert it stands among the others.
  EventRow other = test_event("n-0001", "o", UtcTime{seconds(1806702784)});
  const MailMessage both = letter({other, digest_row(event, digest, false)}, false, "https://burns.example");
  EXPECT_NE(both.text.find(other.title), std::string::npos);
  EXPECT_NE(both.text.find("  Saddle & North is lit.\r\n"), std::string::npos) << both.text;
  EXPECT_EQ(both.html.find("<!doctype"), std::string::npos) << "one document: " << both.html;
}

}  // namespace
}  // namespace hakea::test
