// /stops: what people forbid. A stop counts from the moment its answer is sent; lifting one needs a reason, and both stand in
// the audit.
#include <fmt/format.h>

#include <algorithm>

#include "core/base/nearest.h"
#include "service/http/entries.h"
#include "service/http/filters.h"
#include "service/http/handlers.h"
#include "service/http/paging.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

// The units a stop bears on: its unit, or all (an empty set) where it covers an airshed or a district.
std::set<std::string> touched_by(const StopEntry& stop) {
  return stop.covers == StopEntry::Covers::unit ? std::set<std::string>{stop.whom} : std::set<std::string>{};
}

// A stop that covers nothing would look like one and stop nothing.
void check_scope(const Call& call, const StopEntry& stop, Errors& mistakes) {
  std::vector<std::string> known;
  std::string_view what;
  switch (stop.covers) {
    case StopEntry::Covers::unit:
      what = "unit";
      for (const auto& [id, view] : call.picture->units) known.push_back(id);
      break;
    case StopEntry::Covers::airshed:
      what = "airshed";
      for (const auto& [id, view] : call.picture->districts)
        for (const core::Airshed& airshed : view.district.means.means.airsheds) known.push_back(airshed.id);
      break;
    case StopEntry::Covers::district:
      what = "district";
      for (const auto& [id, view] : call.picture->districts) known.push_back(id);
      break;
  }
  if (std::find(known.begin(), known.end(), stop.whom) != known.end()) return;
  const std::string_view near = nearest(stop.whom, known);
  mistakes.push_back({ErrorKind::invalid, fmt::format("unknown_{}", what), fmt::format("/scope/{}", what),
                      fmt::format("there is no {} \"{}\"", what, stop.whom),
                      near.empty() ? fmt::format("write the id of a {}", what) : fmt::format("did you mean \"{}\"?", near)});
}

// Stores a stop; `before` is what stands under the id of the path, null for a new one.
Response store_stop(const Call& call, const Entry* before) {
  auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  const json::value stood = before ? body_of(*before) : json::value();
  forget_served_members(*body);
  if (auto* object = body->if_object()) {
    object->erase("id");
    object->erase("lifted");
    object->insert_or_assign("by", before ? text_member(stood, "by") : call.actor.name);
  }
  const auto read = read_entry("stops", *body);
  if (!read) return call.refuse(mistakes_of_body(read.errors()));
  const StopEntry& stop = read->stops.front();
  Errors mistakes;
  check_scope(call, stop, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  if (!may_see_entry(call, *body)) return call.other_district();
  const Expected expected = expected_revision(call, before ? before->revision : 0);
  if (expected.refused) return *expected.refused;

  std::set<std::string> touched = touched_by(stop);
  if (before) {
    const auto old = read_entry("stops", stood);
    const std::set<std::string> also = old ? touched_by(old->stops.front()) : std::set<std::string>{};
    if (also.empty() || touched.empty())
      touched.clear();
    else
      touched.insert(also.begin(), also.end());
  }
  const Change change{EntryKind::stop,
                      before ? before->id : "",
                      json_text(*body),
                      before ? expected.revision : std::nullopt,
                      before ? "replace" : "create",
                      stop.why};
  const Written written = write(call, {change}, touched);
  if (written.refused) return *written.refused;
  return entry_response(call, written.entries.front(), before ? 200 : 201, "stops");
}

// The reason for lifting, from the query or the body.
Result<std::string> reason_of(const Call& call) {
  std::string reason = call.query("reason").value_or("");
  Errors mistakes;
  if (reason.empty() && !call.request.body.empty()) {
    const auto body = call.body();
    if (!body) return body.errors();
    JsonObject object(*body, "", mistakes);
    reason = object.text("reason").value_or("");
    object.refuse_unknown_members();
  }
  if (mistakes.empty() && reason.find_first_not_of(" \t\r\n") == std::string::npos)
    mistakes.push_back({ErrorKind::invalid, "required", "/reason", "lifting a stop needs a reason",
                        R"(send {"reason":"…"}, or ?reason=… in the path)"});
  if (!mistakes.empty()) return mistakes;
  return reason;
}

}  // namespace

Response list_stops(const Call& call) {
  Errors mistakes;
  const auto from = query_date(call, "from", mistakes), to = query_date(call, "to", mistakes);
  refuse_reversed(from && to && *from > *to, mistakes);
  const PageAsked page = page_asked(call, mistakes);
  const EntryFilter filter(call, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto belongs = [&](const Entry& entry, const json::value& body) {
    // Those that hold on some date between the two.
    // Of a time its own local date.
    constexpr std::size_t kDate = 10;
    const auto begins = parse_date(text_member(body, "from").substr(0, kDate)),
               ends = parse_date(text_member(body, "to").substr(0, kDate));
    return !(from && ends && *ends < *from) && !(to && begins && *begins > *to) && filter(entry, body);
  };
  return entries_response(call, "stops", call.picture->stops, page, belongs);
}

Response show_stop(const Call& call) {
  const FoundEntry found = find_entry(call, EntryKind::stop, "stop");
  return found.entry ? entry_response(call, *found.entry, 200, "stops") : found.refused;
}

Response add_stop(const Call& call) { return store_stop(call, nullptr); }

Response put_stop(const Call& call) {
  const FoundEntry found = find_entry(call, EntryKind::stop, "stop");
  return found.entry ? store_stop(call, &*found.entry) : found.refused;
}

Response lift_stop(const Call& call) {
  const FoundEntry found = find_entry(call, EntryKind::stop, "stop");
  if (!found.entry) return found.refused;
  const auto reason = reason_of(call);
  if (!reason) return call.refuse(mistakes_of_body(reason.errors()));
  const Expected expected = expected_revision(call, found.entry->revision);
  if (expected.refused) return *expected.refused;
  const auto stop = read_entry("stops", body_of(*found.entry));
  const std::set<std::string> touched = stop ? touched_by(stop->stops.front()) : std::set<std::string>{};
  const Change change{EntryKind::stop, found.entry->id, {}, expected.revision, "lift", *reason};
  const Written written = write(call, {change}, touched);
  if (written.refused) return *written.refused;
  JsonWriter lifted;
  lifted.begin_object().key("lifted").begin_object();
  lifted.text("at", utc_text(call.now)).text("by", call.actor.name).text("reason", *reason).end_object().end_object();
  return call.json(joined_objects(entry_json(written.entries.front()), lifted.str()));
}

}  // namespace hakea::service
