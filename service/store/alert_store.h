// What is told and to whom, in state.db: events, deliveries, what was told before, and how each subscription is reached. One
// transaction writes what belongs together, so that after a stop at any moment no event is lost and none is doubled. Every
// function may be called from several threads; errors as in store.h.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"
#include "service/access/actor.h"

namespace hakea::service {

struct EventRow {
  std::int64_t seq = 0;  // given by the store, ascends
  std::string id, key, type, thread;
  std::string unit, district;  // empty where it concerns none
  UtcTime at{}, expires_at{};
  std::string title;           // a sentence
  std::string data;            // JSON
  bool is_answerable = false;  // somebody should acknowledge it
  std::optional<UtcTime> acknowledged_at{};
  std::string acknowledged_by{};
};

struct DeliveryRow {
  std::string id, subscription;
  std::vector<std::string> events;  // ids
  UtcTime made_at{}, expires_at{};
  bool is_escalation = false;
  std::string state = "pending";  // pending sending retry delivered expired dead
  int attempts = 0;
  UtcTime next_at{};
  std::optional<UtcTime> lease_until{}, ended_at{};
  int last_status = 0;
  std::string last_error{};
};

// How a subscription is reached; people do not enter this.
struct ChannelRow {
  std::string subscription;
  std::string state = "pending";   // pending active disabled
  std::string secret, old_secret;  // base64, of a webhook
  std::optional<UtcTime> old_secret_until{}, failing_since{};
  std::string failure;           // of the last attempt; empty after a success
  bool is_failure_told = false;  // to its owner, since failing_since
  std::string unsubscribe;       // the secret of its unsubscribe address
};

struct AlertCommit {
  std::vector<EventRow> events;
  std::vector<DeliveryRow> deliveries;
  std::map<std::string, std::optional<std::string>> memory;  // changed parts; none: forgotten
  std::vector<ChannelRow> channels;                          // put in place
};

struct DeliveryQuery {
  std::optional<std::string> subscription, state;
  int at_most = 100;
  std::optional<std::set<std::string>> among{};  // those of these subscriptions alone
  // Those behind this one, in the order in which they come: when it was made, and its id.
  std::optional<std::pair<UtcTime, std::string>> after{};
};

// Messages that are still to be delivered.
struct Backlog {
  std::int64_t waiting = 0;
  std::optional<UtcTime> oldest{};  // when the first of them was made
};

class AlertStore {
 public:
  virtual ~AlertStore() = default;

  virtual Result<std::map<std::string, std::string>> memory() = 0;
  // All of it or nothing. Events and deliveries that are there already are left alone.
  virtual Result<bool> commit(const AlertCommit& commit) = 0;

  virtual Result<std::vector<EventRow>> events_after(std::int64_t seq, int at_most) = 0;   // ascending
  virtual Result<std::vector<EventRow>> events_before(std::int64_t seq, int at_most) = 0;  // descending; 0: the newest
  virtual Result<std::optional<EventRow>> event(std::string_view id) = 0;
  // The seq of the oldest and the newest event; 0 and 0 without any.
  virtual Result<std::pair<std::int64_t, std::int64_t>> event_range() = 0;
  // Error also: `not_found`. Acknowledging again changes nothing.
  virtual Result<bool> acknowledge(const Actor& actor, UtcTime now, std::string_view event) = 0;
  virtual Result<std::set<std::string>> acknowledged() = 0;  // ids of those not expired at the time of the last forget()

  // Takes what is due for sending, at most one a subscription and none of those named; its lease lapses at `until`, its attempts
  // count from now. What is past its expiry is ended.
  virtual Result<std::vector<DeliveryRow>> lease(UtcTime now, UtcTime until, int at_most, const std::set<std::string>& busy) = 0;
  // What became of an attempt, and of its channel.
  virtual Result<bool> settle(const DeliveryRow& delivery, const ChannelRow& channel) = 0;
  // After a start nobody is sending.
  virtual Result<bool> release_leases() = 0;
  virtual Result<std::vector<DeliveryRow>> deliveries(const DeliveryQuery& query) = 0;  // newest first
  virtual Result<std::optional<DeliveryRow>> delivery(std::string_view id) = 0;
  virtual Result<Backlog> outbox() = 0;
  // Once more from the beginning, to be sent until `expires_at`. Error also: `not_found`.
  virtual Result<bool> replay(const Actor& actor, UtcTime now, UtcTime expires_at, std::string_view id) = 0;

  virtual Result<std::vector<ChannelRow>> channels() = 0;
  virtual Result<bool> put_channel(const ChannelRow& channel) = 0;

  // Drops events, and deliveries that ended, from before an instant.
  virtual Result<bool> forget_alerts(UtcTime before) = 0;
};

}  // namespace hakea::service
