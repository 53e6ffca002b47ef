// /outcomes: what became of burns. An outcome of a burn that is over changes its unit in the same transaction; while the unit
// is an open burn it waits until that is closed.
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
  std::string body;
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

ReadOutcome read_outcome(const Call& call, const json::value& value, Errors& mistakes) {
  ReadOutcome read;
  JsonObject outcome(value, "", mistakes);
  outcome.ignore({"id", "revision", "by", "booking", "run", "freshness", "caution"});  // ours
  JsonWriter out;
  out.begin_object();
  if (outcome.require("unit", "write the id of the unit"))
    if (const auto unit = outcome.text("unit")) {
      read.view = unit_or_retired(*call.picture, *unit);
      if (!read.view)
        outcome.refuse("unit", "unknown_unit", fmt::format("there is no unit \"{}\"", *unit), "write the id of a unit");
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
  read.body = out.text("by", call.actor.name).end_object().str();
  return read;
}

}  // namespace

Response list_outcomes(const Call& call) {
  Errors mistakes;
  const auto from = query_date(call, "from", mistakes), to = query_date(call, "to", mistakes);
  const PageAsked page = page_asked(call, mistakes);
  const EntryFilter filter(call, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto entries = call.parts.store->entries(EntryKind::outcome);
  if (!entries) return call.store_failed(entries.error());
  const auto unit = call.query("unit"), result = call.query("result");
  const auto belongs = [&](const Entry& entry, const json::value& body) {
    const auto date = parse_date(text_member(body, "date"));
    if ((unit && text_member(body, "unit") != *unit) || (result && text_member(body, "result") != *result)) return false;
    return !(from && date < *from) && !(to && date > *to) && filter.takes(entry, body);
  };
  return entries_response(call, "outcomes", *entries, page, belongs);
}

Response show_outcome(const Call& call) {
  const FoundEntry found = find_entry(call, EntryKind::outcome, "outcome");
  return found.entry ? entry_response(call, *found.entry, 200, "outcomes") : found.refused;
}

Response add_outcome(const Call& call) {
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  Errors mistakes;
  const ReadOutcome read = read_outcome(call, *body, mistakes);
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

}  // namespace hakea::service
