#include "service/store/alerts.h"

#include <fmt/format.h>

#include <tuple>

#include "service/output/json_writer.h"
#include "service/store/entries.h"

namespace hakea::service {
namespace {

constexpr const char* kEventColumns =
    "seq, id, key, type, thread, unit, district, happened_at, expires_at, title, data, is_answerable, acknowledged_at, "
    "acknowledged_by";
constexpr const char* kDeliveryColumns =
    "id, subscription, events, made_at, expires_at, is_escalation, state, attempts, next_at, lease_until, ended_at, last_status, "
    "last_error";
constexpr const char* kStillToSend = "state IN ('pending', 'retry', 'sending')";

EventRow event_in(const Row& row) {
  EventRow event;
  event.seq = row.number(0);
  event.id = row.text(1);
  event.key = row.text(2);
  event.type = row.text(3);
  event.thread = row.text(4);
  event.unit = row.text(5);
  event.district = row.text(6);
  event.at = row.instant(7);
  event.expires_at = row.instant(8);
  event.title = row.text(9);
  event.data = row.text(10);
  event.is_answerable = row.number(11) != 0;
  event.acknowledged_at = row.maybe_instant(12);
  event.acknowledged_by = row.text(13);
  return event;
}

DeliveryRow delivery_in(const Row& row) {
  DeliveryRow delivery;
  delivery.id = row.text(0);
  delivery.subscription = row.text(1);
  delivery.events = row.lines(2);
  delivery.made_at = row.instant(3);
  delivery.expires_at = row.instant(4);
  delivery.is_escalation = row.number(5) != 0;
  delivery.state = row.text(6);
  delivery.attempts = static_cast<int>(row.number(7));
  delivery.next_at = row.instant(8);
  delivery.lease_until = row.maybe_instant(9);
  delivery.ended_at = row.maybe_instant(10);
  delivery.last_status = static_cast<int>(row.number(11));
  delivery.last_error = row.text(12);
  return delivery;
}

ChannelRow channel_in(const Row& row) {
  ChannelRow channel;
  channel.subscription = row.text(0);
  channel.state = row.text(1);
  channel.secret = row.text(2);
  channel.old_secret = row.text(3);
  channel.old_secret_until = row.maybe_instant(4);
  channel.failing_since = row.maybe_instant(5);
  channel.failure = row.text(6);
  channel.is_failure_told = row.number(7) != 0;
  channel.unsubscribe = row.text(8);
  return channel;
}

// For json_each().
std::string json_list(const std::set<std::string>& ids) {
  JsonWriter list;
  list.begin_list();
  for (const std::string& id : ids) list.text(id);
  return list.end_list().str();
}

Error not_found(std::string_view what, std::string_view id) {
  return {ErrorKind::not_found, "not_found", fmt::format("{}/{}", what, id), fmt::format("there is no {} {}", what, id),
          "name one of those listed"};
}

}  // namespace

Result<std::map<std::string, std::string>> alert_memory(Database& state) {
  std::map<std::string, std::string> memory;
  auto done =
      state.each("SELECT key, value FROM alert_memory", {}, [&](const Row& row) { memory.emplace(row.text(0), row.text(1)); });
  if (!done) return done.errors();
  return memory;
}

void commit_alerts(Transaction& transaction, const AlertCommit& commit) {
  for (const EventRow& event : commit.events)
    transaction.run(
        "INSERT OR IGNORE INTO event (id, key, type, thread, unit, district, happened_at, expires_at, title, data, is_answerable,"
        " acknowledged_by) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '')",
        {event.id, event.key, event.type, event.thread, event.unit, event.district, event.at, event.expires_at, event.title,
         event.data, event.is_answerable});
  for (const DeliveryRow& delivery : commit.deliveries) {
    const std::string events = fmt::format("{}", fmt::join(delivery.events, "\n"));
    transaction.run(
        "INSERT OR IGNORE INTO delivery (id, subscription, events, made_at, expires_at, is_escalation, state, attempts, next_at,"
        " last_status, last_error) VALUES (?, ?, ?, ?, ?, ?, 'pending', 0, ?, 0, '')",
        {delivery.id, delivery.subscription, events, delivery.made_at, delivery.expires_at, delivery.is_escalation,
         delivery.next_at});
  }
  for (const auto& [key, value] : commit.memory)
    if (value)
      transaction.run("INSERT OR REPLACE INTO alert_memory (key, value) VALUES (?, ?)", {key, *value});
    else
      transaction.run("DELETE FROM alert_memory WHERE key = ?", {key});
  for (const ChannelRow& channel : commit.channels) put_channel(transaction, channel);
}

Result<std::vector<EventRow>> events_after(Database& state, std::int64_t seq, int at_most) {
  static const std::string kSql = fmt::format("SELECT {} FROM event WHERE seq > ? ORDER BY seq LIMIT ?", kEventColumns);
  return state.rows(kSql, {seq, at_most}, event_in);
}

Result<std::vector<EventRow>> events_before(Database& state, std::int64_t seq, int at_most) {
  static const std::string kSql =
      fmt::format("SELECT {} FROM event WHERE ?1 = 0 OR seq < ?1 ORDER BY seq DESC LIMIT ?2", kEventColumns);
  return state.rows(kSql, {seq, at_most}, event_in);
}

Result<std::optional<EventRow>> alert_event(Database& state, std::string_view id) {
  static const std::string kSql = fmt::format("SELECT {} FROM event WHERE id = ?", kEventColumns);
  return state.first(kSql, {id}, event_in);
}

Result<std::pair<std::int64_t, std::int64_t>> event_range(Database& state) {
  std::pair<std::int64_t, std::int64_t> range{0, 0};
  auto done = state.each("SELECT coalesce(min(seq), 0), coalesce(max(seq), 0) FROM event", {}, [&](const Row& row) {
    range = {row.number(0), row.number(1)};
  });
  if (!done) return done.errors();
  return range;
}

void acknowledge_event(Transaction& transaction, const Actor& actor, UtcTime now, std::string_view event) {
  if (transaction.number("SELECT count(*) FROM event WHERE id = ?", {event}) == 0) {
    transaction.fail(not_found("event", event));
    return;
  }
  transaction.run("UPDATE event SET acknowledged_at = ?, acknowledged_by = ? WHERE id = ? AND acknowledged_at IS NULL",
                  {now, actor.name, event});
  if (transaction.rows_changed() == 0) return;
  const std::string object = fmt::format("event/{}", event);
  add_audit(transaction, actor, now, {.action = "acknowledge", .object = object});
}

Result<std::set<std::string>> acknowledged_events(Database& state) {
  std::set<std::string> ids;
  auto done = state.each("SELECT id FROM event WHERE acknowledged_at IS NOT NULL AND is_answerable", {},
                         [&](const Row& row) { ids.insert(row.text(0)); });
  if (!done) return done.errors();
  return ids;
}

std::vector<DeliveryRow> lease_deliveries(Transaction& transaction, UtcTime now, UtcTime until, int at_most,
                                          const std::set<std::string>& busy) {
  const std::string end = fmt::format(
      "UPDATE delivery SET state = 'expired', ended_at = ?1, lease_until = NULL WHERE {} AND expires_at <= ?1"
      " AND (state <> 'sending' OR lease_until <= ?1)",
      kStillToSend);
  transaction.run(end, {now});
  // One after the other, so that nobody waits behind what somebody else does not take.
  const std::string due = fmt::format(
      "SELECT {} FROM delivery WHERE ((state IN ('pending', 'retry') AND next_at <= ?1) OR (state = 'sending' AND lease_until <= "
      "?1)) AND subscription NOT IN (SELECT value FROM json_each(?2)) ORDER BY next_at, made_at, id LIMIT 1",
      kDeliveryColumns);
  std::vector<DeliveryRow> taken;
  std::set<std::string> served = busy;
  while (static_cast<int>(taken.size()) < at_most) {
    auto first = transaction.first(due, {now, json_list(served)}, delivery_in);
    if (!first) break;
    first->state = "sending";
    ++first->attempts;
    first->lease_until = until;
    transaction.run("UPDATE delivery SET state = 'sending', attempts = ?, lease_until = ? WHERE id = ?",
                    {first->attempts, until, first->id});
    served.insert(first->subscription);
    taken.push_back(*std::move(first));
  }
  return taken;
}

void settle_delivery(Transaction& transaction, const DeliveryRow& delivery, const ChannelRow& channel) {
  transaction.run(
      "UPDATE delivery SET state = ?, attempts = ?, next_at = ?, lease_until = NULL, ended_at = ?, last_status = ?, last_error = "
      "?"
      " WHERE id = ?",
      {delivery.state, delivery.attempts, delivery.next_at, delivery.ended_at, delivery.last_status, delivery.last_error,
       delivery.id});
  // How it is reached may have been changed meanwhile, such as by a rotated secret: that is left alone.
  transaction.run("UPDATE channel SET state = ?, failing_since = ?, failure = ?, is_failure_told = ? WHERE subscription = ?",
                  {channel.state, channel.failing_since, channel.failure, channel.is_failure_told, channel.subscription});
}

void release_leases(Transaction& transaction) {
  transaction.run("UPDATE delivery SET state = 'retry', lease_until = NULL WHERE state = 'sending'");
}

Result<std::vector<DeliveryRow>> deliveries(Database& state, const DeliveryQuery& query) {
  static const std::string kSql = fmt::format(
      "SELECT {} FROM delivery WHERE (?1 IS NULL OR subscription = ?1) AND (?2 IS NULL OR state = ?2)"
      " AND (?4 IS NULL OR subscription IN (SELECT value FROM json_each(?4))) AND (?5 IS NULL OR (made_at, id) < (?5, ?6))"
      " ORDER BY made_at DESC, id DESC LIMIT ?3",
      kDeliveryColumns);
  const auto among = query.among ? std::optional(json_list(*query.among)) : std::nullopt;
  std::optional<UtcTime> made_at;
  std::optional<std::string_view> id;
  if (query.after) std::tie(made_at, id) = *query.after;
  return state.rows(kSql, {query.subscription, query.state, query.at_most, among, made_at, id}, delivery_in);
}

Result<std::optional<DeliveryRow>> delivery(Database& state, std::string_view id) {
  static const std::string kSql = fmt::format("SELECT {} FROM delivery WHERE id = ?", kDeliveryColumns);
  return state.first(kSql, {id}, delivery_in);
}

Result<Backlog> outbox(Database& state) {
  auto found =
      state.first(fmt::format("SELECT count(*), min(made_at) FROM delivery WHERE {}", kStillToSend), {}, [](const Row& row) {
        return Backlog{row.number(0), row.maybe_instant(1)};
      });
  if (!found) return found.errors();
  return found->value_or(Backlog{});
}

void replay_delivery(Transaction& transaction, const Actor& actor, UtcTime now, UtcTime expires_at, std::string_view id) {
  transaction.run(
      "UPDATE delivery SET state = 'pending', attempts = 0, next_at = ?, expires_at = max(expires_at, ?), ended_at = NULL,"
      " lease_until = NULL WHERE id = ? AND state <> 'sending'",
      {now, expires_at, id});
  if (!transaction.has_failed() && transaction.rows_changed() == 0) transaction.fail(not_found("delivery", id));
  const std::string object = fmt::format("delivery/{}", id);
  add_audit(transaction, actor, now, {.action = "retry", .object = object});
}

Result<std::vector<ChannelRow>> channels(Database& state) {
  return state.rows(
      "SELECT subscription, state, secret, old_secret, old_secret_until, failing_since, failure, is_failure_told, unsubscribe"
      " FROM channel ORDER BY subscription",
      {}, channel_in);
}

void put_channel(Transaction& transaction, const ChannelRow& channel) {
  transaction.run(
      "INSERT OR REPLACE INTO channel (subscription, state, secret, old_secret, old_secret_until, failing_since, failure,"
      " is_failure_told, unsubscribe) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
      {channel.subscription, channel.state, channel.secret, channel.old_secret, channel.old_secret_until, channel.failing_since,
       channel.failure, channel.is_failure_told, channel.unsubscribe});
}

void forget_alerts(Transaction& transaction, UtcTime before) {
  transaction.run("DELETE FROM delivery WHERE ended_at < ?", {before});
  transaction.run("DELETE FROM event WHERE happened_at < ?1 AND expires_at < ?1", {before});
}

}  // namespace hakea::service
