// /bookings: units planned for dates by people, and what became of them. A booking freezes the day, run and prescription
// revision its decision rests on; a decision anew, of another unit or date or by committing a draft, freezes them anew.
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "service/http/booking_steps.h"
#include "service/http/entries.h"
#include "service/http/filters.h"
#include "service/http/handlers.h"
#include "service/http/notices.h"
#include "service/http/outcomes.h"
#include "service/http/paging.h"
#include "service/http/standing.h"
#include "service/input/entry_words.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"
#include "service/tell/burn_ahead.h"
#include "service/tell/official.h"

namespace hakea::service {
namespace {

// What people say of a booking; the rest is ours.
constexpr std::array<std::string_view, 6> kSaid{"unit", "date", "state", "notices", "lit_at", "note"};
// What answers add may be sent back and counts for nothing.
constexpr std::array<std::string_view, 7> kOurs{"based_on", "day", "by", "steps", "notice", "official", "look_ahead"};

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

// A booking as it is served: with the notice it needs, the official forecast of its date, and what is coming while it burns.
std::string booking_json(const Snapshot& picture, const Entry& entry, const json::value& body) {
  const UnitView* view = picture.unit_or_retired(text_member(body, "unit"));
  const auto read = read_entry("bookings", body);
  if (!view || !read) return entry_json(entry);
  const Booking& booking = read->bookings.front();
  std::string text = joined_objects(entry_json(entry), notice_json(view->unit, booking, picture.now));
  std::vector<OfficialForecast> official = official_forecasts(picture, *view, view->unit.traits.zone.day_begin(booking.date));
  std::erase_if(official, [&](const OfficialForecast& f) { return view->unit.traits.zone.date(f.at) != booking.date; });
  if (!official.empty()) text = joined_objects(text, official_json(*view, official));
  if (is_open_burn(booking)) text = joined_objects(text, look_ahead_json(*view, burn_days_of(*view, picture.now)));
  return text;
}

// With what is said now of the run its unit's days rest on, beside the frozen ones.
Response booking_response(const Call& call, const Snapshot& picture, const Entry& entry, int status) {
  const json::value body = body_of(entry);
  Response answer = entry_response(call, entry, status, "bookings");
  std::vector<const UnitView*> units;
  if (const UnitView* view = picture.unit(text_member(body, "unit"))) units.push_back(view);
  answer.body = joined_objects(booking_json(picture, entry, body), standing_json(picture, units, call.now));
  return answer;
}

// The members a caller sent that people say, and those nobody knows, which are refused by name later.
json::value said_in(const json::value& body, const json::value& stood) {
  const auto* object = body.if_object();
  if (!object) return body;
  json::object said;
  for (const auto& member : *object)
    if (!is_served_member(member.key()) && std::find(kOurs.begin(), kOurs.end(), member.key()) == kOurs.end() &&
        !member.value().is_null())
      said.insert(member);
  // What it is and when it was lit is not forgotten by not being said again.
  if (!said.contains("state")) said["state"] = stood.is_object() ? text_member(stood, "state") : "draft";
  const std::string lit_at = text_member(stood, "lit_at"), state = text_member(said, "state");
  const bool is_lit = std::any_of(booking_steps().begin(), booking_steps().end(),
                                  [&](const BookingStep& step) { return step.to == state && step.is_lit; });
  if (!lit_at.empty() && is_lit && !said.contains("lit_at")) said["lit_at"] = lit_at;
  return said;
}

// Who brought a booking to each of its states, and when.
json::array steps_of(const Call& call, const json::value& stood, const WantedStep& step, const TimeZone& zone) {
  json::array steps;
  if (const auto* before = stood.if_object())
    if (const auto* known = before->if_contains("steps"); known && known->is_array()) steps = known->get_array();
  // Another unit or date is a decision anew.
  if (step.from != step.to || step.changes_unit || step.changes_date)
    steps.push_back(json::object{{"state", step.to}, {"at", local_text(call.now, zone)}, {"by", call.actor.name}});
  return steps;
}

// The day it rests on as frozen before; nothing where a decision is being made: a new booking, another unit or date, or a
// draft that is committed.
std::optional<std::string> frozen_before(const json::value& stood, const WantedStep& step) {
  const auto* old = stood.if_object();
  if (!old || !old->contains("day") || step.changes_unit || step.changes_date) return std::nullopt;
  if (step.from == "draft" && step.to == "committed") return std::nullopt;
  json::object kept{{"day", old->at("day")}};
  if (const auto* based_on = old->if_contains("based_on")) kept["based_on"] = *based_on;
  return json_text(kept);
}

// Stores a booking; `before` is what stands under the id of the path, null for a new one.
Response store_booking(const Call& call, const Entry* before) {
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  const json::value stood = before ? body_of(*before) : json::value();
  json::value said = said_in(*body, stood);
  const auto read = read_entry("bookings", said);
  if (!read) return call.refuse(mistakes_of_body(read.errors()));
  const Booking& booking = read->bookings.front();
  const UnitView* view = call.picture->unit(booking.unit);
  // What burns goes on burning when its unit is retired.
  if (!view && text_member(stood, "unit") == booking.unit) view = call.picture->unit_or_retired(booking.unit);
  if (!view)
    return call.refuse(mistakes_of_body({{ErrorKind::invalid, "unknown_unit", "/unit",
                                          fmt::format("there is no unit \"{}\"", booking.unit), "write the id of a unit"}}));
  if (!call.may_see(view->unit.district)) return call.other_district();
  const std::string from = text_member(stood, "state");
  const WantedStep step{.from = from,
                        .to = booking.state,
                        .role = call.actor.role,
                        .changes_unit = before && text_member(stood, "unit") != booking.unit,
                        .changes_date = before && text_member(stood, "date") != date_text(booking.date),
                        .has_lit_at = booking.lit_at.has_value()};
  if (const auto refused = refused_step(step)) return call.refuse(*refused);
  Errors mistakes;
  refuse_the_future(booking.lit_at, "/lit_at", call.now, mistakes);
  const TimeZone& zone = view->unit.traits.zone;
  complete_notices(said, {call.actor.name, call.now, zone, booking.date, view->unit.prescription.consecutive_days}, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  const Expected expected = expected_revision(call, before ? before->revision : 0);
  if (expected.refused) return *expected.refused;

  json::object stored;
  for (const std::string_view name : kSaid)
    if (said.get_object().contains(name)) stored[name] = said.at(name);
  const std::string first = text_member(stood, "by");
  stored["by"] = first.empty() ? call.actor.name : first;
  stored["steps"] = steps_of(call, stood, step, zone);
  std::set<std::string> touched{booking.unit, text_member(stood, "unit")};
  touched.erase("");
  const Change change{EntryKind::booking,
                      before ? before->id : "",
                      joined_objects(json_text(stored), frozen_before(stood, step).value_or(frozen_json(*view, booking.date))),
                      before ? expected.revision : std::nullopt,
                      before ? "replace" : "create",
                      before && from != booking.state ? fmt::format("{} to {}", from, booking.state) : ""};
  std::vector<Change> changes{change};
  // A burn that is over leaves its unit as its outcome says.
  if (booking.state == "closed" && from != "closed") {
    const auto effect = effect_of_closing(*call.parts.store, booking.unit, zone.date(*booking.lit_at));
    if (!effect) return call.store_failed(effect.error());
    if (*effect) changes.push_back(**effect);
  }
  const Written written = write(call, changes, touched);
  if (written.refused) return *written.refused;
  return booking_response(call, *written.picture, written.entries.front(), before ? 200 : 201);
}

}  // namespace

Response list_bookings(const Call& call) {
  Errors mistakes;
  const PageAsked page = page_asked(call, mistakes);
  const EntryFilter filter(call, AskedBy::date, {"unit", "state"}, mistakes);
  query_word(call, "state", booking_states(), mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  std::string list;
  std::vector<const UnitView*> units;
  const std::string next = for_page(call, page, call.picture->bookings, filter, [&](const Entry& entry, const json::value& body) {
    if (const UnitView* view = call.picture->unit(text_member(body, "unit"))) units.push_back(view);
    (list += list.empty() ? "" : ",") += booking_json(*call.picture, entry, body);
  });
  Response answer = answer_about(call, units, R"({"bookings":[)" + list + "]}");
  add_next_link(answer, next);
  return answer;
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
