// /subscriptions and /deliveries: who wants to be told of what, how they are reached, and what became of what was sent. An
// officer has their own; coordinators and operators look after all of them.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <functional>

#include "service/access/secret.h"
#include "service/base/clock.h"
#include "service/deliver/signature.h"
#include "service/http/entries.h"
#include "service/http/handlers.h"
#include "service/http/paging.h"
#include "service/input/subscription_json.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"
#include "service/tell/alerts.h"

namespace hakea::service {
namespace {

constexpr std::chrono::hours kBothSecrets{24};  // sign after a rotation [our own default]
constexpr std::size_t kSecretBytes = 32;
constexpr std::array<std::string_view, 6> kDeliveryStates{"pending", "sending", "retry", "delivered", "expired", "dead"};

AlertStore& alerts_of(const Call& call) { return *call.parts.store->alerts(); }

// Whether a subscription names places and all of them are of the caller's districts.
bool is_of_own_districts(const Call& call, const json::value& body) {
  bool names_some = false;
  const auto all = [&](std::string_view member, const std::function<bool(std::string_view)>& is_own) {
    const json::object* said = body.if_object();
    const json::value* list = said ? said->if_contains(member) : nullptr;
    if (!list || !list->is_array()) return true;
    names_some = names_some || !list->get_array().empty();
    return std::all_of(list->get_array().begin(), list->get_array().end(),
                       [&](const json::value& id) { return id.is_string() && is_own(std::string_view(id.get_string())); });
  };
  const bool is_within = all("districts", [&](std::string_view id) { return call.may_see(id); }) && all("units", [&](auto id) {
                           const UnitView* view = call.picture->unit_or_retired(id);
                           return view && call.may_see(view->unit.district);
                         });
  return is_within && names_some;
}

// One's own; and whoever looks after all of them those of their districts.
bool may_see(const Call& call, const json::value& body) {
  if (text_member(body, "owner") == call.actor.name) return true;
  return call.actor.role >= Role::coordinator && (call.actor.districts.empty() || is_of_own_districts(call, body));
}

Response being_sent(const Call& call) {
  return call.refuse({409, "being_sent", "It is being sent", "wait until the attempt at hand has ended", {}});
}

struct Found {
  std::optional<Entry> entry;
  json::value body;
  ChannelRow channel;
  Response refused;
};

Found find(const Call& call, const std::string& id) {
  Found found;
  auto entry = call.parts.store->entry(EntryKind::subscription, id);
  if (!entry) return {{}, {}, {}, call.store_failed(entry.error())};
  if (!*entry || (*entry)->is_withdrawn || !may_see(call, body_of(**entry)))
    return {{}, {}, {}, call.not_found("subscription", id)};
  const auto channels = alerts_of(call).channels();
  if (!channels) return {{}, {}, {}, call.store_failed(channels.error())};
  for (const ChannelRow& channel : *channels)
    if (channel.subscription == id) found.channel = channel;
  found.body = body_of(**entry);
  found.entry = *std::move(entry);
  return found;
}

std::string shown_subscription(const Entry& entry, const json::value& body, const ChannelRow& channel) {
  JsonWriter out;
  const json::object* said = body.if_object();
  const json::value* paused = said ? said->if_contains("paused") : nullptr;
  const bool is_paused = paused && paused->is_bool() && paused->as_bool();
  out.begin_object().text("state", is_paused ? "paused" : channel.state).key("failing");
  if (channel.failing_since)
    out.begin_object().text("since", utc_text(*channel.failing_since)).text("error", channel.failure).end_object();
  else
    out.null();
  out.end_object();
  return joined_objects(entry_json(entry), out.str());
}

Response answer_of(const Call& call, const Entry& entry, const ChannelRow& channel, int status, const std::string& secret = {}) {
  std::string object = shown_subscription(entry, body_of(entry), channel);
  if (!secret.empty()) {
    JsonWriter once;
    once.begin_object().text("secret", shown_secret(secret)).end_object();
    object = joined_objects(object, once.str());
  }
  return entry_response(call, entry, status, "subscriptions", object);
}

Result<std::string> fresh_secret() {
  const auto bytes = random_bytes(kSecretBytes);
  if (!bytes) return bytes.errors();
  return base64(*bytes);
}

// Units and districts that are there, and that the caller may see.
void check_places(const Call& call, json::object& said, const SubscriptionEntry& read, Errors& mistakes) {
  for (const std::string& unit : read.wants.units) {
    const UnitView* view = call.picture->unit_or_retired(unit);
    if (!view || !call.may_see(view->unit.district))
      mistakes.push_back(
          {ErrorKind::invalid, "unknown_unit", "/units", fmt::format("there is no unit \"{}\"", unit), "write the id of a unit"});
  }
  for (const std::string& district : read.wants.districts)
    if (!call.picture->districts.contains(district) || !call.may_see(district))
      mistakes.push_back({ErrorKind::invalid, "unknown_district", "/districts",
                          fmt::format("there is no district \"{}\"", district), "write the id of a district"});
  // A token held to districts hears of these alone.
  if (read.wants.districts.empty() && !call.actor.districts.empty())
    said["districts"] = json::array(call.actor.districts.begin(), call.actor.districts.end());
  if (read.channel == SubscriptionEntry::Channel::email && !call.parts.config->deliver.mail)
    mistakes.push_back({ErrorKind::invalid, "no_mail", "/channel/kind", "this service sends no mail",
                        "name a webhook, or have a relay configured"});
}

Response store_subscription(const Call& call, const Found* before) {
  auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  if (json::object* object = body->if_object()) {
    forget_served_members(*body);
    for (const char* name : {"id", "owner", "state", "failing"}) object->erase(name);  // what answers add
  }
  const auto read = parse_subscription(*body, usual_zone(*call.picture));
  Errors mistakes = read ? Errors() : read.errors();
  if (read) check_places(call, body->as_object(), *read, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  const Expected expected = expected_revision(call, before ? before->entry->revision : 0);
  if (expected.refused) return *expected.refused;

  ChannelRow channel;
  std::string secret;
  bool is_new_place = true;
  if (before) {
    const auto old = stored_subscription(before->entry->body, usual_zone(*call.picture));
    is_new_place = !old || old->channel != read->channel || old->target != read->target;
    channel = before->channel;
  }
  if (is_new_place) {  // nothing is sent to a place before it has taken a test
    const auto fresh = fresh_secret();
    const auto unsubscribe = new_secret();
    if (!fresh) return call.store_failed(fresh.error());
    if (!unsubscribe) return call.store_failed(unsubscribe.error());
    channel = ChannelRow{};
    channel.unsubscribe = *unsubscribe;
    if (read->channel == SubscriptionEntry::Channel::webhook) secret = channel.secret = *fresh;
  }
  const std::string owner = before ? text_member(before->body, "owner") : call.actor.name;
  body->as_object()["owner"] = owner;
  const Change change{EntryKind::subscription,
                      before ? before->entry->id : "",
                      json_text(*body),
                      before ? expected.revision : std::nullopt,
                      before ? "replace" : "create",
                      ""};
  // What is wanted and how it is reached are there together or not at all.
  Store::Beside beside;
  if (is_new_place)
    beside = [&](std::span<const Entry> entries) {
      channel.subscription = entries.front().id;
      AlertCommit commit = test_message(channel.subscription, owner, call.now);
      commit.channels.push_back(channel);
      return commit;
    };
  const Written written = write(call, {change}, std::nullopt, beside);
  if (written.refused) return *written.refused;
  const Entry& entry = written.entries.front();
  return answer_of(call, entry, channel, before ? 200 : 201, secret);
}

std::string delivery_json(const DeliveryRow& delivery) {
  JsonWriter out;
  out.begin_object().text("id", delivery.id).text("subscription", delivery.subscription).texts("events", delivery.events);
  out.text("state", delivery.state).yes_or_no("escalation", delivery.is_escalation);
  out.text("made_at", utc_text(delivery.made_at)).text("expires_at", utc_text(delivery.expires_at));
  out.whole("attempts", delivery.attempts);
  write_time(out, "next_at",
             delivery.state == "pending" || delivery.state == "retry" ? std::optional(delivery.next_at) : std::nullopt);
  write_time(out, "ended_at", delivery.ended_at);
  if (delivery.last_status > 0)
    out.whole("last_status", delivery.last_status);
  else
    out.null("last_status");
  return out.text_or_null("last_error", delivery.last_error).end_object().str();
}

// Where a delivery stands in the list of them: "2027-03-29T19:31:00Z/ID".
std::string place_of(const DeliveryRow& delivery) { return fmt::format("{}/{}", utc_text(delivery.made_at), delivery.id); }

std::optional<std::pair<UtcTime, std::string>> place_in(std::string_view key) {
  const std::size_t slash = key.find('/');
  if (slash == std::string_view::npos) return std::nullopt;
  const auto made_at = parse_instant(key.substr(0, slash));
  if (!made_at) return std::nullopt;
  return std::pair(*made_at, std::string(key.substr(slash + 1)));
}

}  // namespace

Response list_subscriptions(const Call& call) {
  const auto entries = call.parts.store->entries(EntryKind::subscription);
  if (!entries) return call.store_failed(entries.error());
  const auto channels = alerts_of(call).channels();
  if (!channels) return call.store_failed(channels.error());
  std::string list;
  for (const Entry& entry : *entries) {
    const json::value body = body_of(entry);
    if (!may_see(call, body)) continue;
    const auto channel =
        std::find_if(channels->begin(), channels->end(), [&](const ChannelRow& row) { return row.subscription == entry.id; });
    (list += list.empty() ? "" : ",") += shown_subscription(entry, body, channel == channels->end() ? ChannelRow{} : *channel);
  }
  return call.json(R"({"subscriptions":[)" + list + "]}");
}

Response show_subscription(const Call& call) {
  const Found found = find(call, call.ids.front());
  return found.entry ? answer_of(call, *found.entry, found.channel, 200) : found.refused;
}

Response add_subscription(const Call& call) { return store_subscription(call, nullptr); }

Response put_subscription(const Call& call) {
  const Found found = find(call, call.ids.front());
  return found.entry ? store_subscription(call, &found) : found.refused;
}

Response delete_subscription(const Call& call) {
  const Found found = find(call, call.ids.front());
  if (!found.entry) return found.refused;
  const Expected expected = expected_revision(call, found.entry->revision);
  if (expected.refused) return *expected.refused;
  const Written written =
      write(call, {{EntryKind::subscription, found.entry->id, {}, expected.revision, "delete", ""}}, std::nullopt);
  return written.refused ? *written.refused : Response{204, "", "", {}};
}

Response test_subscription(const Call& call) {
  const Found found = find(call, call.ids.front());
  if (!found.entry) return found.refused;
  const auto sent = send_test(alerts_of(call), found.entry->id, text_member(found.body, "owner"), call.now);
  if (!sent) return call.store_failed(sent.error());
  if (const auto noted = call.parts.store->add_audit(call.actor, call.now, "test", "subscription/" + found.entry->id, ""); !noted)
    return call.store_failed(noted.error());
  return answer_of(call, *found.entry, found.channel, 202);
}

Response rotate_secret(const Call& call) {
  Found found = find(call, call.ids.front());
  if (!found.entry) return found.refused;
  if (found.channel.secret.empty())
    return call.refuse({409, "no_secret", "This subscription has no secret", "only webhooks are signed", {}});
  const auto fresh = fresh_secret();
  if (!fresh) return call.store_failed(fresh.error());
  found.channel.old_secret = found.channel.secret;
  found.channel.old_secret_until = clock_time() + kBothSecrets;  // receivers go by the machine's time
  found.channel.secret = *fresh;
  if (const auto put = alerts_of(call).put_channel(found.channel); !put) return call.store_failed(put.error());
  if (const auto noted =
          call.parts.store->add_audit(call.actor, call.now, "rotate_secret", "subscription/" + found.entry->id, "");
      !noted)
    return call.store_failed(noted.error());
  return answer_of(call, *found.entry, found.channel, 200, *fresh);
}

// By the link in a mail, which acts on POST alone (RFC 8058); who has the link is who got the mail.
Response unsubscribe(const Call& call) {
  const auto channels = alerts_of(call).channels();
  if (!channels) return call.store_failed(channels.error());
  for (const ChannelRow& channel : *channels) {
    if (channel.unsubscribe.empty() || !is_same_secret(channel.unsubscribe, call.ids.front())) continue;
    Actor reader = call.actor;
    reader.name = "unsubscribe link";
    const Change gone{EntryKind::subscription, channel.subscription, {}, {}, "unsubscribe", "by the link in a mail"};
    const auto entry = call.parts.store->entry(EntryKind::subscription, channel.subscription);
    if (!entry) return call.store_failed(entry.error());
    if (*entry && !(*entry)->is_withdrawn)
      if (const auto done = call.parts.store->write(reader, call.now, std::vector<Change>{gone}); !done)
        return call.store_failed(done.error());
    return {204, "", "", {}};
  }
  return call.refuse({404, "not_found", "There is no such thing", "this link is not known", {}});
}

Response list_deliveries(const Call& call) {
  Errors mistakes;
  DeliveryQuery query;
  query.subscription = call.query("subscription");
  query.state = query_word(call, "state", kDeliveryStates, mistakes);
  const PageAsked page = page_asked(call, mistakes);
  query.at_most = static_cast<int>(page.limit) + 1;
  if (page.after && !(query.after = place_in(*page.after)))
    mistakes.push_back({ErrorKind::invalid, "not_a_cursor", "?cursor", "the cursor is of another list",
                        "follow the link rel=\"next\" of the page before, or leave it out for the first page"});
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto entries = call.parts.store->entries(EntryKind::subscription, true);
  if (!entries) return call.store_failed(entries.error());
  query.among.emplace();
  for (const Entry& entry : *entries)
    if (may_see(call, body_of(entry))) query.among->insert(entry.id);
  auto deliveries = alerts_of(call).deliveries(query);
  if (!deliveries) return call.store_failed(deliveries.error());
  std::string list, next;
  if (deliveries->size() > page.limit) {
    deliveries->resize(page.limit);
    next = next_page(call, place_of(deliveries->back()));
  }
  for (const DeliveryRow& delivery : *deliveries) (list += list.empty() ? "" : ",") += delivery_json(delivery);
  Response answer = call.json(R"({"deliveries":[)" + list + "]}");
  add_next_link(answer, next);
  return answer;
}

Response retry_delivery(const Call& call) {
  const std::string& id = call.ids.front();
  const auto delivery = alerts_of(call).delivery(id);
  if (!delivery) return call.store_failed(delivery.error());
  if (!*delivery) return call.not_found("delivery", id);
  const Found found = find(call, (*delivery)->subscription);
  if (!found.entry) return found.refused.status == 404 ? call.not_found("delivery", id) : found.refused;
  if ((*delivery)->expires_at <= call.now)
    return call.refuse({409, "over", "What it tells is over", "a message that comes too late is worse than none", {}});
  if ((*delivery)->state == "sending") return being_sent(call);
  const auto again = alerts_of(call).replay(call.actor, call.now, (*delivery)->expires_at, id);
  const bool is_too_late = !again && again.error().code == "not_found";  // it was sent or forgotten since
  if (!again && !is_too_late) return call.store_failed(again.error());
  const auto fresh = alerts_of(call).delivery(id);
  if (!fresh) return call.store_failed(fresh.error());
  if (!*fresh) return call.not_found("delivery", id);
  return is_too_late ? being_sent(call) : call.json(delivery_json(**fresh), 202);
}

}  // namespace hakea::service
