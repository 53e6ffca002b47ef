#include "service/tell/alerts.h"

#include <spdlog/spdlog.h>

#include <algorithm>

#include "service/base/log.h"
#include "service/input/subscription_json.h"
#include "service/tell/alert_facts.h"
#include "service/tell/alert_words.h"
#include "service/tell/said.h"

namespace hakea::service {
namespace {

using std::chrono::hours;

constexpr std::chrono::days kEventsKept{30};  // for who comes back to the stream [our own default]
constexpr hours kTestExpires{1};

}  // namespace

TimeZone usual_zone(const Snapshot& snapshot) {
  return snapshot.districts.empty() ? TimeZone() : zone_of(snapshot.districts.begin()->second);
}

Result<std::unique_ptr<Alerts>> Alerts::start(Store& store, core::RouteRules rules, core::ProgramSolver solver) {
  AlertStore* alerts = store.alerts();
  HAKEA_EXPECT(alerts != nullptr);
  auto texts = alerts->memory();
  if (!texts) return texts.errors();
  std::unique_ptr<Alerts> made(new Alerts(*alerts, store, rules, std::move(solver)));
  made->memory_ = read_memory(*texts);
  made->written_ = *std::move(texts);
  return made;
}

Result<std::vector<core::Subscription>> Alerts::subscriptions() const {
  const auto entries = store_.entries(EntryKind::subscription);
  if (!entries) return entries.errors();
  const auto channels = alerts_.channels();
  if (!channels) return channels.errors();
  std::vector<core::Subscription> all;
  for (const Entry& entry : *entries) {
    const auto channel =
        std::find_if(channels->begin(), channels->end(), [&](const ChannelRow& row) { return row.subscription == entry.id; });
    if (channel == channels->end()) continue;
    auto read = stored_subscription(entry.body, usual_zone(*picture_));
    if (!read) {
      log_errors("subscription " + entry.id + " as it was entered cannot be read", read.errors());
      continue;
    }
    read->wants.id = entry.id;
    read->wants.is_active = channel->state == "active" && !read->is_paused;
    all.push_back(std::move(read->wants));
  }
  return all;
}

void Alerts::begin_again() {
  const std::lock_guard lock(looking_);
  picture_.reset();
}

// In words; nothing for a digest that has nothing to say.
std::optional<EventRow> Alerts::row_of(const core::AlertEvent& event) const {
  if (event.kind != core::AlertKind::digest_daily) return event_row(event, *picture_);
  const auto district = picture_->districts.find(event.district);
  if (district == picture_->districts.end()) return std::nullopt;
  const auto digest = digest_now(store_, *picture_, district->second, *event.date, solver_);
  if (!digest) log_errors("the digest of " + event.district + " cannot be told", digest.errors());
  if (!digest || says_nothing(*digest)) return std::nullopt;
  return digest_row(event, *digest, picture_->is_demo);
}

Result<bool> Alerts::look(std::shared_ptr<const Snapshot> picture, UtcTime now) {
  if (!picture) return true;
  const std::lock_guard lock(looking_);
  if (!picture_ || picture->number > picture_->number) {
    facts_ = alert_facts(*picture);
    picture_ = std::move(picture);
  }
  const auto wanted = subscriptions();
  if (!wanted) return wanted.errors();
  const auto acknowledged = alerts_.acknowledged();
  if (!acknowledged) return acknowledged.errors();

  AlertMemory memory = memory_;
  AlertCommit commit;
  std::vector<core::AlertEvent> events = core::watch(memory.watched, facts_, now);
  std::erase_if(events, [&](const core::AlertEvent& event) {
    auto row = row_of(event);
    if (row) commit.events.push_back(*std::move(row));
    return !row;
  });
  for (const core::AlertMessage& message : core::route(memory.routed, events, *wanted, *acknowledged, now, rules_)) {
    DeliveryRow delivery;
    delivery.id = message.id;
    delivery.subscription = message.subscription;
    delivery.events = message.events;
    delivery.made_at = delivery.next_at = now;
    delivery.expires_at = message.expires_at;
    delivery.is_escalation = message.is_escalation;
    commit.deliveries.push_back(std::move(delivery));
  }
  MemoryTexts texts = memory_texts(memory);
  commit.memory = changed(written_, texts);
  if (!commit.events.empty() || !commit.deliveries.empty() || !commit.memory.empty())
    if (const auto done = alerts_.commit(commit); !done) return done;
  memory_ = std::move(memory);
  written_ = std::move(texts);
  for (const EventRow& event : commit.events) spdlog::info("alert {}: {}", event.type, event.title);
  forget_old(now);
  return true;
}

void Alerts::forget_old(UtcTime now) {
  const LocalDate today(std::chrono::floor<std::chrono::days>(now.time_since_epoch()));
  if (today == forgotten_on_) return;
  forgotten_on_ = today;
  if (const auto done = alerts_.forget_alerts(now - kEventsKept); !done)
    log_errors("old events could not be dropped", done.errors());
}

AlertCommit test_message(const std::string& subscription, const std::string& owner, UtcTime now) {
  AlertCommit commit;
  commit.events.push_back(test_event(subscription, owner, now));
  DeliveryRow delivery;
  delivery.id = commit.events.front().id + "." + subscription;
  delivery.subscription = subscription;
  delivery.events = {commit.events.front().id};
  delivery.made_at = delivery.next_at = now;
  delivery.expires_at = now + kTestExpires;
  commit.deliveries.push_back(std::move(delivery));
  return commit;
}

Result<bool> send_test(AlertStore& alerts, const std::string& subscription, const std::string& owner, UtcTime now) {
  return alerts.commit(test_message(subscription, owner, now));
}

}  // namespace hakea::service
