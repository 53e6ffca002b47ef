// The tables of alert_store.h. What each function does stands there; those with a Transaction leave their failure in it.
#pragma once

#include "service/store/alert_store.h"
#include "service/store/sqlite.h"

namespace hakea::service {

Result<std::map<std::string, std::string>> alert_memory(Database& state);
void commit_alerts(Transaction& transaction, const AlertCommit& commit);
Result<std::vector<EventRow>> events_after(Database& state, std::int64_t seq, int at_most);
Result<std::vector<EventRow>> events_before(Database& state, std::int64_t seq, int at_most);
Result<std::optional<EventRow>> alert_event(Database& state, std::string_view id);
Result<std::pair<std::int64_t, std::int64_t>> event_range(Database& state);
void acknowledge_event(Transaction& transaction, const Actor& actor, UtcTime now, std::string_view event);
Result<std::set<std::string>> acknowledged_events(Database& state);
std::vector<DeliveryRow> lease_deliveries(Transaction& transaction, UtcTime now, UtcTime until, int at_most,
                                          const std::set<std::string>& busy);
void settle_delivery(Transaction& transaction, const DeliveryRow& delivery, const ChannelRow& channel);
void release_leases(Transaction& transaction);
Result<std::vector<DeliveryRow>> deliveries(Database& state, const DeliveryQuery& query);
Result<std::optional<DeliveryRow>> delivery(Database& state, std::string_view id);
Result<Backlog> outbox(Database& state);
void replay_delivery(Transaction& transaction, const Actor& actor, UtcTime now, UtcTime expires_at, std::string_view id);
Result<std::vector<ChannelRow>> channels(Database& state);
void put_channel(Transaction& transaction, const ChannelRow& channel);
void forget_alerts(Transaction& transaction, UtcTime before);

}  // namespace hakea::service
