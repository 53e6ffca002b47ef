#include "service/deliver/courier.h"

#include <fmt/format.h>
#include <spdlog/spdlog.h>

#include <algorithm>

#include "core/alert/route.h"
#include "service/base/log.h"
#include "service/deliver/letter.h"
#include "service/deliver/webhook.h"
#include "service/tell/alert_words.h"
#include "service/tell/alerts.h"

namespace hakea::service {
namespace {

using std::chrono::seconds;

constexpr int kWorkers = 4;
constexpr seconds kLease{90};                               // longer than any attempt takes
constexpr seconds kFailingLong = std::chrono::minutes(30);  // then its owner is told
constexpr seconds kGivenUp = std::chrono::days(5);          // then nothing more is sent to it

bool is_test(const Courier::Parcel& parcel) {
  return !parcel.events.empty() && parcel.events.front().type == core::row_of(core::AlertKind::subscription_test).type;
}

}  // namespace

Courier::Courier(Store& store, Clock& clock, Send send)
    : store_(store), alerts_(*store.alerts()), clock_(clock), send_(std::move(send)) {}

Result<std::unique_ptr<Courier>> Courier::start(Store& store, Clock& clock, Send send) {
  HAKEA_EXPECT(store.alerts() != nullptr);
  std::unique_ptr<Courier> courier(new Courier(store, clock, std::move(send)));
  if (const auto released = courier->alerts_.release_leases(); !released) return released.errors();
  for (int i = 0; i < kWorkers; ++i) courier->workers_.emplace_back([c = courier.get()](std::stop_token stop) { c->work(stop); });
  return courier;
}

Courier::~Courier() {
  for (std::jthread& worker : workers_) worker.request_stop();
  wake();
}

void Courier::wake() { woken_.notify_all(); }

void Courier::work(const std::stop_token& stop) {
  while (!stop.stop_requested()) {
    if (send_next()) continue;
    std::unique_lock lock(waiting_);
    woken_.wait_for(lock, stop, seconds(1), [&] { return stop.stop_requested(); });
  }
}

bool Courier::send_next() {
  DeliveryRow taken;
  {
    const std::lock_guard lock(waiting_);
    const UtcTime now = clock_.now();
    const auto due = alerts_.lease(now, now + kLease, 1, busy_);
    if (!due) {
      log_errors("deliveries cannot be taken from the outbox", due.errors());
      return false;
    }
    if (due->empty()) return false;
    taken = due->front();
    busy_.insert(taken.subscription);
  }
  const std::string subscription = taken.subscription;
  deliver(std::move(taken));
  const std::lock_guard lock(waiting_);
  busy_.erase(subscription);
  return true;
}

void Courier::deliver(DeliveryRow delivery) {
  auto parcel = parcel_of(delivery);
  if (!parcel) return;
  const auto attempt = [&] {
    try {
      return send_(*parcel);
    } catch (const std::exception& mistake) {
      return failed_attempt(mistake.what());
    }
  };
  write(*parcel, attempt());
}

// What is sent, or nothing where there is nothing to send any more, which is written down.
std::optional<Courier::Parcel> Courier::parcel_of(DeliveryRow& delivery) {
  const UtcTime now = clock_.now();
  Parcel parcel;
  const auto put_back = [&](std::string_view why, const Errors& errors) {
    log_errors(fmt::format("delivery {}: {}", delivery.id, why), errors);  // its lease lapses
    return std::nullopt;
  };
  const auto entry = store_.entry(EntryKind::subscription, delivery.subscription);
  if (!entry) return put_back("its subscription cannot be read", entry.errors());
  const auto channels = alerts_.channels();
  if (!channels) return put_back("its channel cannot be read", channels.errors());
  const auto channel = std::find_if(channels->begin(), channels->end(),
                                    [&](const ChannelRow& row) { return row.subscription == delivery.subscription; });
  if (channel != channels->end()) parcel.channel = *channel;
  for (const std::string& id : delivery.events) {
    auto event = alerts_.event(id);
    if (!event) return put_back("its event cannot be read", event.errors());
    if (*event && (*event)->expires_at > now) parcel.events.push_back(**std::move(event));
  }
  std::string over;
  if (!*entry || (*entry)->is_withdrawn || channel == channels->end()) {
    over = "the subscription is no longer there";
  } else {
    if (auto read = stored_subscription((*entry)->body, TimeZone()))
      parcel.to = *std::move(read);
    else
      over = "the subscription cannot be read";
    if (over.empty() && parcel.events.empty()) over = "its events are over";
    if (over.empty() && !is_test(parcel) && (parcel.to.is_paused || channel->state == "disabled"))
      over = "the subscription is paused";
  }
  parcel.delivery = delivery;
  if (over.empty()) return parcel;
  parcel.delivery.state = "expired";
  parcel.delivery.ended_at = now;
  parcel.delivery.last_error = over;
  if (const auto settled = alerts_.settle(parcel.delivery, parcel.channel); !settled)
    log_errors("delivery " + delivery.id + " could not be ended", settled.errors());
  return std::nullopt;
}

void Courier::write(Parcel& parcel, const Attempt& attempt) {
  const UtcTime now = clock_.now();
  DeliveryRow& delivery = parcel.delivery;
  ChannelRow& channel = parcel.channel;
  delivery.last_status = attempt.status;
  delivery.last_error = attempt.error;
  if (attempt.is_delivered) {
    delivery.state = "delivered";
    delivery.ended_at = now;
    channel.failing_since.reset();
    channel.failure.clear();
    channel.is_failure_told = false;
    if (channel.state == "pending" || (channel.state == "disabled" && is_test(parcel))) channel.state = "active";
  } else {
    const auto step = core::wait_after(delivery.id, delivery.attempts);
    const UtcTime next = now + std::max(step.value_or(seconds(0)), attempt.retry_after.value_or(seconds(0)));
    if (attempt.is_gone || attempt.is_hopeless || !step)
      delivery.state = "dead";
    else if (next >= delivery.expires_at)
      delivery.state = "expired";
    else
      delivery.state = "retry";
    if (delivery.state != "retry") delivery.ended_at = now;
    delivery.next_at = next;
    if (!channel.failing_since) channel.failing_since = now;
    channel.failure = attempt.error;
    if (attempt.is_gone || now - *channel.failing_since >= kGivenUp) channel.state = "disabled";
    const bool is_bad = delivery.state != "retry" || now - *channel.failing_since >= kFailingLong;
    if (is_bad && !channel.is_failure_told && channel.state != "pending") {
      tell_owner(parcel);
      channel.is_failure_told = true;
    }
    spdlog::warn("delivery {} was not delivered ({}), it is {}: {}", delivery.id, delivery.attempts, delivery.state,
                 attempt.error);
  }
  if (const auto settled = alerts_.settle(delivery, channel); !settled)
    log_errors("what became of delivery " + delivery.id + " could not be written; it will be sent again", settled.errors());
}

// By whatever else of theirs works; the event shows in /events in any case.
void Courier::tell_owner(const Parcel& parcel) {
  const auto entries = store_.entries(EntryKind::subscription);
  const auto channels = alerts_.channels();
  if (!entries || !channels) return;
  const auto owner_of = [](const Entry& entry) {
    const auto body = parse_json(entry.body, entry.id);
    return body ? text_member(*body, "owner") : std::string();
  };
  std::string owner;
  for (const Entry& entry : *entries)
    if (entry.id == parcel.delivery.subscription) owner = owner_of(entry);
  AlertCommit commit;
  // Named by when it began, so that telling it again after a stop is the same event.
  commit.events.push_back(
      failing_event(parcel.delivery.subscription, owner, parcel.channel.failure, *parcel.channel.failing_since));
  const EventRow& event = commit.events.front();
  for (const Entry& entry : *entries) {
    if (owner.empty() || entry.id == parcel.delivery.subscription || owner_of(entry) != owner) continue;
    const bool is_reached = std::any_of(channels->begin(), channels->end(), [&](const ChannelRow& row) {
      return row.subscription == entry.id && row.state == "active" && !row.failing_since;
    });
    if (!is_reached) continue;
    DeliveryRow delivery;
    delivery.id = event.id + "." + entry.id;
    delivery.subscription = entry.id;
    delivery.events = {event.id};
    delivery.made_at = delivery.next_at = clock_.now();
    delivery.expires_at = event.expires_at;
    commit.deliveries.push_back(std::move(delivery));
  }
  if (const auto done = alerts_.commit(commit); !done) log_errors("a failing subscription could not be told", done.errors());
}

Courier::Send sender(DeliverSettings settings, std::string origin) {
  return [settings = std::move(settings), origin = std::move(origin)](const Courier::Parcel& parcel) {
    // The receiver holds the time of the attempt against its own clock, so it is the machine's.
    const UtcTime now = clock_time();
    if (parcel.to.channel == SubscriptionEntry::Channel::webhook) {
      WebhookMessage message;
      message.url = parcel.to.target;
      message.id = fmt::format("msg_{}{}", parcel.delivery.events.front(), parcel.delivery.is_escalation ? "_again" : "");
      WebhookBody body = webhook_body(parcel.events, origin);
      message.body = std::move(body.body);
      message.content_type = std::move(body.content_type);
      message.secrets = {parcel.channel.secret};
      if (parcel.channel.old_secret_until && *parcel.channel.old_secret_until > now)
        message.secrets.push_back(parcel.channel.old_secret);
      return send_webhook(message, settings.webhooks, now);
    }
    if (!settings.mail) return failed_attempt("no mail relay is configured", true);
    MailMessage mail = letter(parcel.events, parcel.delivery.is_escalation, settings.mail->origin);
    mail.to = parcel.to.target;
    mail.id = parcel.delivery.id;
    if (!parcel.channel.unsubscribe.empty())
      mail.unsubscribe_url = fmt::format("{}/api/v1/unsubscribe/{}", settings.mail->origin, parcel.channel.unsubscribe);
    return send_mail(mail, *settings.mail, now);
  };
}

}  // namespace hakea::service
