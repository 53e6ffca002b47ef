// /outcomes: what became of burns. An outcome of a burn that is over changes its unit in the same transaction; while the unit
// is an open burn it waits until that is closed. One that was wrong is corrected with a reason, and its unit with it.
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "service/http/entries.h"
#include "service/http/filters.h"
#include "service/http/handlers.h"
#include "service/http/outcomes.h"
#include "service/http/paging.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::array<std::string_view, 4> kResults{"treated", "part_burnt", "not_lit", "escaped"};

// The booking an outcome is of: the unit's last that was lit by then, for one that was not lit the one of that date.
std::string booking_of(const Snapshot& picture, const UnitView& view, LocalDate date, bool was_lit) {
  std::string found;
  std::optional<UtcTime> latest;
  for (const Entry& entry : picture.bookings) {
    const json::value body = body_of(entry);
    if (text_member(body, "unit") != view.unit.id) continue;
    if (!was_lit) {
      if (text_member(body, "date") == date_text(date)) found = entry.id;
      continue;
    }
    const auto lit_at = parse_instant(text_member(body, "lit_at"));
    if (!lit_at || view.unit.traits.zone.date(*lit_at) > date || (latest && *lit_at < *latest)) continue;
    latest = *lit_at;
    found = entry.id;
  }
  return found;
}

// What an area, a cover and a height of scorch may be for a result.
void check_area(JsonObject& outcome, std::string_view result, std::optional<double> treated_ha, const UnitView& view) {
  const std::optional<double>& whole = view.unit.area_ha;
  if (result == "not_lit") {
    for (const char* name : {"treated_ha", "coverage_pct", "scorch_m"})
      if (outcome.has(name) && outcome.find(name)->is_number() && outcome.find(name)->to_number<double>() > 0)
        outcome.refuse(name, "contradictory", fmt::format("a unit that was not lit has no {}", name), "leave it out");
  } else if (result != "escaped" && treated_ha && *treated_ha == 0) {
    outcome.refuse("treated_ha", "contradictory", fmt::format("{} with an area of nothing", result),
                   "write the area that was burnt, or not_lit");
  } else if (result != "escaped" && treated_ha && whole && *treated_ha > *whole) {
    outcome.refuse("treated_ha", "out_of_range", fmt::format("{:g} ha is more than the unit's {:g}", *treated_ha, *whole),
                   "write the area inside the unit, or escaped");
  }
}

struct ReadOutcome {
  std::string body, reason;
  Outcome outcome;
  const UnitView* view = nullptr;
};

void write_stopped(JsonObject& outcome, JsonWriter& out, const UnitView* view, UtcTime now) {
  const json::value* value = outcome.find("stopped");
  if (!value) return;
  JsonObject stopped(*value, outcome.at("stopped"), outcome.mistakes());
  out.key("stopped").begin_object();
  if (const auto at = stopped.instant("at")) {
    refuse_the_future(*at, stopped.at("at"), now, outcome.mistakes());
    out.text("at", view ? local_text(*at, view->unit.traits.zone) : utc_text(*at));
  }
  if (stopped.require("reason", "write why the lighting was stopped, such as wind"))
    if (const auto reason = stopped.text("reason")) out.text("reason", *reason);
  out.end_object();
  stopped.refuse_unknown_members();
}

// `stood`: the body of the outcome that is corrected, null for a new one.
ReadOutcome read_outcome(const Call& call, const json::value& value, const json::value& stood, Errors& mistakes) {
  ReadOutcome read;
  JsonObject outcome(value, "", mistakes);
  outcome.ignore({"id", "revision", "by", "booking", "corrected", "run", "freshness", "caution"});  // ours
  std::string reason;
  if (!stood.is_null()) {
    reason = outcome.text("reason").value_or(call.query("reason").value_or(""));
    if (reason.find_first_not_of(" \t\r\n") == std::string::npos)
      outcome.refuse("reason", "required", "correcting an outcome needs a reason",
                     R"(write "reason":"…" beside what is corrected, or ?reason=… in the path)");
  }
  JsonWriter out;
  out.begin_object();
  if (outcome.require("unit", "write the id of the unit"))
    if (const auto unit = outcome.text("unit")) {
      read.view = call.picture->unit_or_retired(*unit);
      if (!read.view)
        outcome.refuse("unit", "unknown_unit", fmt::format("there is no unit \"{}\"", *unit), "write the id of a unit");
      if (!stood.is_null() && text_member(stood, "unit") != *unit)
        outcome.refuse("unit", "fixed", fmt::format("it was entered for {}", text_member(stood, "unit")),
                       "correct it to not_lit, and enter another for the other unit");
      out.text("unit", *unit);
    }
  outcome.require("date", "write the local date of the burn");
  if (const auto date = outcome.date("date")) {
    if (read.view && *date > read.view->unit.traits.zone.date(call.now))
      outcome.refuse("date", "in_the_future", fmt::format("{} is still to come", date_text(*date)), "write when it was");
    out.text("date", date_text(*date));
  }
  outcome.require("result", fmt::format("write one of {}", fmt::join(kResults, ", ")));
  const auto result = outcome.word("result", kResults);
  if (result) out.text("result", kResults[*result]);
  const auto number = [&](std::string_view name, NumberBounds bounds) {
    const auto given = outcome.number(name, bounds);
    if (given) out.number(name, *given);
    return given;
  };
  const auto treated_ha = number("treated_ha", {0, 1e7});
  number("coverage_pct", {0, 100});
  number("scorch_m", {0, 120});
  if (result && read.view) check_area(outcome, kResults[*result], treated_ha, *read.view);
  write_stopped(outcome, out, read.view, call.now);
  if (const auto note = outcome.text("note")) out.text("note", *note);
  outcome.refuse_unknown_members();
  if (mistakes.empty()) {
    const LocalDate date = *outcome.date("date");
    const std::string booking = booking_of(*call.picture, *read.view, date, kResults[*result] != "not_lit");
    if (!booking.empty()) out.text("booking", booking);
    read.outcome = {read.view->unit.id, date, std::string(kResults[*result]), treated_ha};
  }
  const std::string first = text_member(stood, "by");
  out.text("by", first.empty() ? call.actor.name : first);
  if (!stood.is_null()) {
    out.key("corrected").begin_object().text("at", utc_text(call.now)).text("by", call.actor.name);
    out.text("reason", reason).end_object();
  }
  read.reason = std::move(reason);
  read.body = out.end_object().str();
  return read;
}

// When what still burns of a unit was lit, by its own date; none where nothing does.
std::optional<LocalDate> open_since(const Snapshot& picture, const Unit& unit) {
  std::optional<LocalDate> since;
  const auto district = picture.districts.find(unit.district);
  if (district == picture.districts.end()) return since;
  for (const Booking& booking : district->second.district.bookings)
    if (booking.unit == unit.id && is_open_burn(booking) && booking.lit_at)
      since = std::min(since.value_or(LocalDate::max()), unit.traits.zone.date(*booking.lit_at));
  return since;
}

}  // namespace

Response list_outcomes(const Call& call) {
  Errors mistakes;
  const PageAsked page = page_asked(call, mistakes);
  const EntryFilter filter(call, AskedBy::date, {"unit", "result"}, mistakes);
  query_word(call, "result", kResults, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto entries = call.parts.store->entries(EntryKind::outcome);
  if (!entries) return call.store_failed(entries.error());
  return entries_response(call, "outcomes", *entries, page, filter);
}

Response show_outcome(const Call& call) {
  const FoundEntry found = find_entry(call, EntryKind::outcome, "outcome");
  return found.entry ? entry_response(call, *found.entry, 200, "outcomes") : found.refused;
}

Response add_outcome(const Call& call) {
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  Errors mistakes;
  const ReadOutcome read = read_outcome(call, *body, nullptr, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  if (!call.may_see(read.view->unit.district)) return call.other_district();
  std::vector<Change> changes{{EntryKind::outcome, "", read.body, {}, "create", ""}};
  // What burnt in part may be lit again while it is still open.
  if (!plan_of_unit(*call.picture, read.view->unit).is_open_burn || read.outcome.result == "part_burnt") {
    const auto effect = effect_on_unit(*call.parts.store, read.outcome);
    if (!effect) return call.store_failed(effect.error());
    if (*effect) changes.push_back(**effect);
  }
  const std::optional<std::set<std::string>> touched =
      changes.size() > 1 ? std::optional(std::set<std::string>{read.outcome.unit}) : std::nullopt;
  const Written written = write(call, changes, touched);
  if (written.refused) return *written.refused;
  return entry_response(call, written.entries.front(), 201, "outcomes");
}

Response put_outcome(const Call& call) {
  const FoundEntry found = find_entry(call, EntryKind::outcome, "outcome");
  if (!found.entry) return found.refused;
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  Errors mistakes;
  const ReadOutcome read = read_outcome(call, *body, body_of(*found.entry), mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  const Expected expected = expected_revision(call, found.entry->revision);
  if (expected.refused) return *expected.refused;
  const Unit& unit = read.view->unit;
  const auto effect = effect_of_correcting(*call.parts.store, found.entry->id, read.outcome, open_since(*call.picture, unit));
  if (!effect) return call.store_failed(effect.error());
  std::vector<Change> changes{{EntryKind::outcome, found.entry->id, read.body, expected.revision, "correct", read.reason}};
  if (*effect) changes.push_back(**effect);
  const Written written = write(call, changes, *effect ? std::optional(std::set<std::string>{unit.id}) : std::nullopt);
  if (written.refused) return *written.refused;
  return entry_response(call, written.entries.front(), 200, "outcomes");
}

}  // namespace hakea::service
