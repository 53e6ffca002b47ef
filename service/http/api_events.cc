// /events: what was told, as a log, as a stream that goes on (server-sent events, WHATWG HTML §9.2) and as Atom (RFC 4287).
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "core/alert/kinds.h"
#include "core/base/words.h"
#include "service/access/oidc.h"
#include "service/access/tokens.h"
#include "service/base/clock.h"
#include "service/http/handlers.h"
#include "service/output/cautions.h"
#include "service/output/html.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"
#include "service/tell/alert_words.h"
#include "service/tell/cloud_event.h"

namespace hakea::service {
namespace {

constexpr int kEvents = 100, kEventsAtMost = 1000, kAtOnce = 200;
constexpr double kSilence_s = 15, kStream_s = 3600;

// What of the log a caller asked for and may see.
struct Wanted {
  std::vector<std::string> types;
  std::optional<std::string> district, unit;
  std::set<std::string> districts;  // of the token; empty: all

  bool holds(const EventRow& event) const {
    if (!types.empty() &&
        std::none_of(types.begin(), types.end(), [&](const std::string& t) { return core::names_type(t, event.type); }))
      return false;
    if (!event.district.empty() && !districts.empty() && !districts.contains(event.district)) return false;
    return (!district || event.district == *district) && (!unit || event.unit == *unit);
  }
};

std::optional<std::int64_t> seq_in(std::string_view text) {
  if (text.empty() || text.size() > 18 || text.find_first_not_of("0123456789") != std::string_view::npos) return std::nullopt;
  return std::stoll(std::string(text));
}

std::string logged(const EventRow& event, const std::string& origin) {
  JsonWriter more;
  more.begin_object();
  if (event.is_answerable) {
    more.key("acknowledged");
    if (event.acknowledged_at)
      more.begin_object().text("at", utc_text(*event.acknowledged_at)).text("by", event.acknowledged_by).end_object();
    else
      more.null();
  }
  more.end_object();
  return joined_objects(cloud_event(event, origin), more.str());
}

// Whether the token and the session that opened a stream still count; those of the identity provider and of nobody are not asked
// again. A store that does not answer ends nothing.
bool still_counts(Store& store, const Clock& clock, const Actor& reader) {
  if (reader.session)
    if (const auto session = store.session(*reader.session); session && !*session) return false;
  if (reader.token_id.empty() || reader.token_id.starts_with(kOidcPrefix)) return true;
  const auto token = store.token(reader.token_id);
  return !token || (*token && actor_of(**token, clock.now()));
}

// The stream goes on from a number: each call gives what came since, or a comment now and then so that nobody thinks it dead. It
// ends with the reader's token, and after an hour; a reader comes back by itself and shows its token anew.
class EventStream {
 public:
  EventStream(AlertStore& alerts, std::function<bool()> may_go_on, Wanted wanted, std::string origin, std::int64_t after,
              bool is_resync)
      : alerts_(alerts),
        may_go_on_(std::move(may_go_on)),
        wanted_(std::move(wanted)),
        origin_(std::move(origin)),
        after_(after),
        text_("retry: 5000\n\n") {
    if (is_resync) text_ += "event: resync\ndata: {}\n\n";
  }

  std::optional<std::string> next() {
    if (age_.seconds() > kStream_s || !may_go_on_()) return std::nullopt;
    const auto events = alerts_.events_after(after_, kAtOnce);
    if (!events) return std::nullopt;
    for (const EventRow& event : *events) {
      after_ = event.seq;
      if (wanted_.holds(event))
        text_ += fmt::format("id: {}\nevent: {}\ndata: {}\n\n", event.seq, event.type, cloud_event(event, origin_));
    }
    if (text_.empty() && silence_.seconds() > kSilence_s) text_ = ": keep-alive\n\n";
    if (!text_.empty()) silence_ = Stopwatch();
    return std::exchange(text_, {});
  }

 private:
  AlertStore& alerts_;
  std::function<bool()> may_go_on_;
  Wanted wanted_;
  std::string origin_;
  std::int64_t after_;
  std::string text_;
  Stopwatch age_, silence_;
};

Response stream_of(const Call& call, AlertStore& alerts, Wanted wanted) {
  const auto range = alerts.event_range();
  if (!range) return call.store_failed(range.error());
  const std::string_view last = call.request.header("last-event-id");
  const auto after = last.empty() ? seq_in(call.query("after").value_or("")) : seq_in(last);
  const bool is_lost = after && range->first > *after + 1;  // some of it is no longer kept
  auto may_go_on = [store = call.parts.store, clock = call.parts.clock, reader = call.actor] {
    return still_counts(*store, *clock, reader);
  };
  auto stream = std::make_shared<EventStream>(alerts, std::move(may_go_on), std::move(wanted), call.parts.config->access.origin,
                                              after.value_or(range->second), is_lost);
  Response answer{200, "text/event-stream", "", {{"X-Accel-Buffering", "no"}}};
  answer.more = [stream] { return stream->next(); };
  return answer;
}

// The 128 bits of an id in Crockford's base 32, as a UUID is written.
std::string uuid_of(std::string_view id) {
  constexpr std::string_view kLetters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
  std::array<unsigned, 32> nibbles{};
  for (const char c : id) {  // times 32, and the next five bits, from the right
    unsigned carry = static_cast<unsigned>(std::min(kLetters.find(c), kLetters.size() - 1));
    for (std::size_t i = nibbles.size(); i-- > 0;) {
      const unsigned value = nibbles[i] * 32 + carry;
      nibbles[i] = value & 15;
      carry = value >> 4;
    }
  }
  std::string text;
  for (std::size_t i = 0; i < nibbles.size(); ++i) {
    if (i == 8 || i == 12 || i == 16 || i == 20) text += '-';
    text += "0123456789abcdef"[nibbles[i]];
  }
  return text;
}

Response atom_of(const Call& call, const std::vector<EventRow>& events) {
  const std::string& origin = call.parts.config->access.origin;
  const UtcTime updated = events.empty() ? call.now : std::max(events.front().at, events.back().at);  // in either order
  std::string feed = "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<feed xmlns=\"http://www.w3.org/2005/Atom\">";
  feed += fmt::format("<id>{}/api/v1/events</id><title>Burn windows</title><updated>{}</updated>",
                      html(origin.empty() ? "urn:hakea:" : origin), utc_text(updated));
  feed += fmt::format("<author><name>Hakea</name></author><link rel=\"self\" href=\"{}/api/v1/events\"/>", html(origin));
  for (const EventRow& event : events) {
    feed += fmt::format("\n<entry><id>urn:uuid:{}</id><title>{}</title><updated>{}</updated><category term=\"{}\"/>",
                        uuid_of(event.id), html(event.title), utc_text(event.at), html(event.type));
    const auto parsed = parse_json(event.data, event.id);
    const json::value data = parsed ? *parsed : json::value();
    if (!event.unit.empty())
      feed += fmt::format("<link href=\"{}\"/>", html(page_of_unit(origin, event.unit, text_member(data, "date"))));
    std::vector<std::string> said = whys_of(data);
    said.insert(said.end(), {std::string(kGuidance), std::string(kNotOfficialRating)});
    if (std::string demo = text_member(data, "demo"); !demo.empty()) said.push_back(std::move(demo));
    feed += fmt::format("<summary>{}</summary></entry>", html(fmt::format("{}", fmt::join(said, "; "))));
  }
  return {200, call.type, feed + "\n</feed>\n", {}};
}

std::string kinds_json() {
  JsonWriter out;
  out.begin_object().key("kinds").begin_list();
  for (const core::AlertKindRow& row : core::alert_kinds())
    out.begin_object()
        .text("type", row.type)
        .text("title", row.title)
        .yes_or_no("urgent", row.is_urgent)
        .yes_or_no("chosen", row.is_chosen)
        .end_object();
  return out.end_list().end_object().str();
}

}  // namespace

Response list_events(const Call& call) {
  Errors mistakes;
  constexpr std::array<std::string_view, 1> kYes{"yes"};
  if (query_word(call, "kinds", kYes, mistakes)) return call.json(kinds_json());
  Wanted wanted{query_list(call, "types"), call.query("district"), call.query("unit"), call.actor.districts};
  for (const std::string& type : wanted.types)
    if (!core::names_any_type(type) && !core::alert_kind(type))
      mistakes.push_back({ErrorKind::invalid, "unknown_event", "?types", fmt::format("no event is called \"{}\"", type),
                          "?kinds=yes lists them; \"window.*\" means all of a kind"});
  for (const char* name : {"after", "before"})
    if (const auto text = call.query(name); text && !seq_in(*text))
      mistakes.push_back({ErrorKind::invalid, "not_a_number", fmt::format("?{}", name),
                          fmt::format("\"{}\" is no sequence number", *text), "write the `sequence` of an event"});
  const int limit = query_number(call, "limit", kEventsAtMost, mistakes).value_or(kEvents);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  AlertStore& alerts = *call.parts.store->alerts();
  if (call.type == "text/event-stream") return stream_of(call, alerts, std::move(wanted));
  // What the caller does not want is passed over, so that a page is full.
  std::vector<EventRow> found;
  const auto after = seq_in(call.query("after").value_or(""));
  std::int64_t at = after ? *after : seq_in(call.query("before").value_or("")).value_or(0);
  for (bool has_more = true; has_more && static_cast<int>(found.size()) < limit;) {
    auto events = after ? alerts.events_after(at, kEventsAtMost) : alerts.events_before(at, kEventsAtMost);
    if (!events) return call.store_failed(events.error());
    has_more = static_cast<int>(events->size()) == kEventsAtMost;
    for (EventRow& event : *events) {
      at = event.seq;
      if (static_cast<int>(found.size()) < limit && wanted.holds(event)) found.push_back(std::move(event));
    }
  }
  if (call.type == "application/atom+xml") return atom_of(call, found);
  std::string list;
  for (const EventRow& event : found) (list += list.empty() ? "" : ",") += logged(event, call.parts.config->access.origin);
  return call.json(R"({"events":[)" + list + "]}");
}

Response acknowledge_event(const Call& call) {
  AlertStore& alerts = *call.parts.store->alerts();
  const std::string& id = call.ids.front();
  auto event = alerts.event(id);
  if (!event) return call.store_failed(event.error());
  if (!*event || (!(*event)->district.empty() && !call.may_see((*event)->district))) return call.not_found("event", id);
  if (const auto done = alerts.acknowledge(call.actor, call.now, id); !done) return call.store_failed(done.error());
  event = alerts.event(id);
  if (!event) return call.store_failed(event.error());
  if (!*event) return call.not_found("event", id);  // too old by now
  return call.json(logged(**event, call.parts.config->access.origin));
}

}  // namespace hakea::service
