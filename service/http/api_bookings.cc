// /bookings: units planned for dates by people. A booking freezes the day, run and prescription revision it rests on; they
// are found again when its unit or date changes.
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "service/http/entries.h"
#include "service/http/handlers.h"
#include "service/http/standing.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

// What people say of a booking; the rest is ours.
constexpr std::array<std::string_view, 6> kSaid{"unit", "date", "state", "notices", "lit_at", "note"};

// {"based_on":…,"day":…}: what is said of the date now.
std::string frozen_json(const UnitView& view, LocalDate date) {
  JsonWriter out;
  out.begin_object().key("based_on").begin_object();
  if (view.run)
    out.text("run", view.run->id);
  else
    out.null("run");
  out.whole("prescription_revision", view.prescription_revision).end_object();
  if (const core::Day* day = day_on(view, date))
    write_day(out.key("day"), *day, view.unit.prescription, view.unit.traits.zone);
  else
    out.null("day");
  out.end_object();
  return out.str();
}

// With what is said now of the run its unit's days rest on, beside the frozen ones.
Response booking_response(const Call& call, const Snapshot& picture, const Entry& entry, int status) {
  Response answer = entry_response(call, entry, status, "bookings");
  std::vector<const UnitView*> units;
  if (const UnitView* view = picture.unit(text_member(body_of(entry), "unit"))) units.push_back(view);
  answer.body = joined_objects(answer.body, standing_json(picture, units, call.now));
  return answer;
}

// Stores a booking; `before` is what stands under the id of the path, null for a new one.
Response store_booking(const Call& call, const Entry* before) {
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  const json::value stood = before ? body_of(*before) : json::value();
  json::object said;
  if (const auto* object = body->if_object()) {
    for (const auto& member : *object)
      // What answers add may be sent back and counts for nothing.
      if (!is_served_member(member.key()) && member.key() != "based_on" && member.key() != "day" && member.key() != "by" &&
          !member.value().is_null())
        said.insert(member);
  }
  if (body->is_object() && !said.contains("state")) said["state"] = "draft";
  const auto read = read_entry("bookings", body->is_object() ? json::value(said) : *body);
  if (!read) return call.refuse(mistakes_of_body(read.errors()));
  const Booking& booking = read->bookings.front();
  const UnitView* view = call.picture->unit(booking.unit);
  if (!view)
    return call.refuse(mistakes_of_body({{ErrorKind::invalid, "unknown_unit", "/unit",
                                          fmt::format("there is no unit \"{}\"", booking.unit), "write the id of a unit"}}));
  if (!call.may_see(view->unit.district)) return call.other_district();
  // An officer proposes; committing, standing down and what follows is the coordinator's.
  if (call.actor.role < Role::coordinator && (booking.state != "draft" || (before && text_member(stood, "state") != "draft")))
    return call.refuse({403, "role", "Your role may not do this", "an officer may propose drafts; more takes a coordinator", {}});
  const Expected expected = expected_revision(call, before ? before->revision : 0);
  if (expected.refused) return *expected.refused;

  std::string frozen = frozen_json(*view, booking.date), by = call.actor.name;
  std::set<std::string> touched{booking.unit};
  if (before) {
    touched.insert(text_member(stood, "unit"));
    if (const std::string first = text_member(stood, "by"); !first.empty()) by = first;
    const json::object* old = stood.if_object();
    if (old && old->contains("day") && text_member(stood, "unit") == booking.unit &&
        text_member(stood, "date") == date_text(booking.date)) {
      json::object kept{{"day", old->at("day")}};
      if (const auto* based_on = old->if_contains("based_on")) kept["based_on"] = *based_on;
      frozen = json_text(kept);
    }
  }
  json::object stored;
  for (const std::string_view name : kSaid)
    if (said.contains(name)) stored[name] = said.at(name);
  stored["by"] = by;
  touched.erase("");
  // Others wait for this unit or lie beside it: what they may do hangs on when it was lit.
  for (const auto& [id, other] : call.picture->units)
    if (std::find(other->unit.adjacent.begin(), other->unit.adjacent.end(), booking.unit) != other->unit.adjacent.end() ||
        std::any_of(other->unit.after.begin(), other->unit.after.end(),
                    [&](const AfterUnit& a) { return a.unit == booking.unit; }))
      touched.insert(id);
  const Change change{EntryKind::booking,
                      before ? before->id : "",
                      joined_objects(json_text(stored), frozen),
                      before ? expected.revision : std::nullopt,
                      before ? "replace" : "create",
                      ""};
  const Written written = write(call, {change}, touched);
  if (written.refused) return *written.refused;
  return booking_response(call, *written.picture, written.entries.front(), before ? 200 : 201);
}

}  // namespace

Response list_bookings(const Call& call) {
  Errors mistakes;
  const auto from = query_date(call, "from", mistakes), to = query_date(call, "to", mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto unit = call.query("unit"), state = call.query("state");
  std::string list;
  std::vector<const UnitView*> units;
  for (const Entry& entry : call.picture->bookings) {
    const json::value body = body_of(entry);
    if (!may_see_entry(call, body)) continue;
    const auto date = parse_date(text_member(body, "date"));
    if ((unit && text_member(body, "unit") != *unit) || (state && text_member(body, "state") != *state)) continue;
    if ((from && date < *from) || (to && date > *to)) continue;
    if (const UnitView* view = call.picture->unit(text_member(body, "unit"))) units.push_back(view);
    (list += list.empty() ? "" : ",") += entry_json(entry);
  }
  return call.json(joined_objects(R"({"bookings":[)" + list + "]}", standing_json(*call.picture, units, call.now)));
}

Response show_booking(const Call& call) {
  const FoundEntry found = find_entry(call, EntryKind::booking, "booking");
  return found.entry ? booking_response(call, *call.picture, *found.entry, 200) : found.refused;
}

Response add_booking(const Call& call) { return store_booking(call, nullptr); }

Response put_booking(const Call& call) {
  const FoundEntry found = find_entry(call, EntryKind::booking, "booking");
  return found.entry ? store_booking(call, &*found.entry) : found.refused;
}

Response delete_booking(const Call& call) {
  const FoundEntry found = find_entry(call, EntryKind::booking, "booking");
  if (!found.entry) return found.refused;
  if (call.actor.role < Role::coordinator && text_member(body_of(*found.entry), "state") != "draft")
    return call.refuse(
        {403, "role", "Your role may not do this", "an officer may take back drafts; more takes a coordinator", {}});
  const Expected expected = expected_revision(call, found.entry->revision);
  if (expected.refused) return *expected.refused;
  const Change change{EntryKind::booking, found.entry->id, {}, expected.revision, "delete", call.query("reason").value_or("")};
  // All units: what lay beside it or waited for it may be free again.
  const Written written = write(call, {change}, std::set<std::string>{});
  if (written.refused) return *written.refused;
  return {204, "", "", {}};
}

}  // namespace hakea::service
