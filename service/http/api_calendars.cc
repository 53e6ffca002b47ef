// /calendars: links that a calendar program can be given, since those cannot send tokens; and /cal/…, where they lead. Whoever
// has a link reads its calendar, so the link is told once and kept as a hash, can be taken back, and ends with the token it was
// made by.
#include <fmt/format.h>

#include <algorithm>

#include "core/base/words.h"
#include "service/access/secret.h"
#include "service/access/tokens.h"
#include "service/base/content_hash.h"
#include "service/http/conditional.h"
#include "service/http/handlers.h"
#include "service/http/routes.h"
#include "service/input/config.h"
#include "service/output/calendar_text.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

constexpr std::string_view kEnding = ".ics";
constexpr std::string_view kCalendarFormat = "1";  // of what is written; another one makes other tags

CalendarStore& calendars_of(const Call& call) { return *call.parts.store->calendars(); }

// The token that a calendar was made by, where it is one of ours.
Result<std::optional<Token>> maker_of(const Call& call, const CalendarRow& calendar) {
  return call.parts.store->token(calendar.token_id);
}

bool has_ended(const CalendarRow& calendar, const std::optional<Token>& token, UtcTime now) {
  return now >= calendar.ends_at || (token && !actor_of(*token, now));
}

Result<std::string> state_of_calendar(const Call& call, const CalendarRow& calendar) {
  if (calendar.taken_back_at) return std::string("taken_back");
  const auto token = maker_of(call, calendar);
  if (!token) return token.errors();
  return std::string(has_ended(calendar, *token, call.now) ? "ended" : "good");
}

// A calendar is its owner's and theirs who look after all of them, as far as they may see what it shows.
bool may_see_calendar(const Call& call, const CalendarRow& calendar) {
  if (call.actor.role < Role::coordinator && calendar.owner != call.actor.name) return false;
  if (!calendar.district.empty()) return call.may_see(calendar.district);
  return std::all_of(calendar.units.begin(), calendar.units.end(), [&](const std::string& unit) {
    const UnitView* view = call.picture->unit_or_retired(unit);
    return view ? call.may_see(view->unit.district) : call.actor.districts.empty();
  });
}

std::string calendar_json(const CalendarRow& calendar, const std::string& state) {
  JsonWriter out;
  out.begin_object().text("id", calendar.id).text("name", calendar.name).text_or_null("district", calendar.district);
  out.texts("units", calendar.units).text("owner", calendar.owner).text("state", state);
  out.text("made_at", utc_text(calendar.made_at)).text("ends_at", utc_text(calendar.ends_at));
  write_time(out, "taken_back_at", calendar.taken_back_at);
  return out.end_object().str();
}

std::string usual_name(const Call& call, const CalendarRow& calendar) {
  std::vector<std::string> names;
  for (const std::string& unit : calendar.units) names.push_back(call.picture->unit(unit)->unit.name);
  if (!calendar.district.empty()) names = {call.picture->districts.find(calendar.district)->second.district.name};
  if (names.size() > 3) names = {names[0], names[1], counted(names.size() - 2, "other", "others")};
  return "Burn windows: " + listed(names);
}

CalendarRow wanted_calendar(const Call& call, const json::value& value, Errors& mistakes) {
  CalendarRow wanted;
  JsonObject body(value, "", mistakes);
  const auto name = body.text("name");
  wanted.district = body.text("district").value_or("");
  if (!wanted.district.empty() && (!call.picture->districts.contains(wanted.district) || !call.may_see(wanted.district)))
    body.refuse("district", "unknown_district", fmt::format("there is no district \"{}\"", wanted.district),
                "write the id of a district");
  const json::array* units = body.list("units");
  for (std::size_t i = 0; units && i < units->size(); ++i) {
    const json::value& each = (*units)[i];
    const UnitView* view = each.is_string() ? call.picture->unit(std::string_view(each.get_string())) : nullptr;
    if (view && call.may_see(view->unit.district))
      wanted.units.push_back(view->unit.id);
    else
      mistakes.push_back({ErrorKind::invalid, "unknown_unit", pointer_to(body.at("units"), i),
                          fmt::format("there is no unit {}", shown(each)), "write the id of a unit"});
  }
  if (mistakes.empty() && wanted.district.empty() == wanted.units.empty())
    mistakes.push_back({ErrorKind::invalid, "required", "", "a calendar shows a district or chosen units",
                        "name a district, or units, and not both"});
  body.refuse_unknown_members();
  wanted.name = name && !trimmed(*name).empty() ? *name : mistakes.empty() ? usual_name(call, wanted) : "";
  // One line, as it stands in calendars.
  std::replace_if(
      wanted.name.begin(), wanted.name.end(), [](unsigned char c) { return c < ' '; }, ' ');
  return wanted;
}

std::string link_to(std::string_view secret) { return fmt::format("{}/{}{}", kCalendarRoot, secret, kEnding); }

struct FoundCalendar {
  std::optional<CalendarRow> row;
  std::string state;
  Response refused;
};

FoundCalendar find_calendar(const Call& call, const std::string& id) {
  const auto row = calendars_of(call).calendar(id);
  if (!row) return {{}, {}, call.store_failed(row.error())};
  if (!*row || !may_see_calendar(call, **row)) return {{}, {}, call.not_found("calendar", id)};
  const auto state = state_of_calendar(call, **row);
  if (!state) return {{}, {}, call.store_failed(state.error())};
  return {*row, *state, {}};
}

// What the text of a calendar rests on: each change of an entry has a number of its own, and one that goes lowers their count.
std::string tag_of_entries(const CalendarRow& calendar, std::span<const CalendarEntryRow> entries, const std::string& origin) {
  std::int64_t change = 0;
  UtcTime changed_at{};  // a restored database counts on from before
  for (const CalendarEntryRow& row : entries) {
    change = std::max(change, row.change);
    changed_at = std::max(changed_at, row.entry.changed_at);
  }
  return fmt::format("{}-{}-{:x}-{:x}-{:x}-{:x}", calendar.id, kCalendarFormat, change, entries.size(),
                     changed_at.time_since_epoch().count(), std::hash<std::string>()(origin));
}

}  // namespace

Response list_calendars(const Call& call) {
  const auto calendars = calendars_of(call).all_calendars();
  if (!calendars) return call.store_failed(calendars.error());
  std::string list;
  for (const CalendarRow& calendar : *calendars) {
    if (!may_see_calendar(call, calendar)) continue;
    const auto state = state_of_calendar(call, calendar);
    if (!state) return call.store_failed(state.error());
    (list += list.empty() ? "" : ",") += calendar_json(calendar, *state);
  }
  return call.json(R"({"calendars":[)" + list + "]}");
}

Response show_calendar(const Call& call) {
  const FoundCalendar found = find_calendar(call, call.ids.front());
  return found.row ? call.json(calendar_json(*found.row, found.state)) : found.refused;
}

Response add_calendar(const Call& call) {
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  Errors mistakes;
  CalendarRow wanted = wanted_calendar(call, *body, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  const auto secret = new_secret();
  if (!secret) return call.store_failed(secret.error());
  wanted.link_hash = content_hash(*secret);
  wanted.owner = call.actor.name;
  wanted.token_id = call.actor.token_id;
  wanted.made_at = call.now;
  const auto token = maker_of(call, wanted);
  if (!token) return call.store_failed(token.error());
  wanted.ends_at = *token ? (*token)->expires_at : call.now + kTokenLivesAtMost;
  const auto made = calendars_of(call).add_calendar(call.actor, call.now, std::move(wanted));
  if (!made) return call.store_failed(made.error());
  JsonWriter shown_once;
  shown_once.begin_object().text("address", call.parts.config->access.origin + link_to(*secret)).end_object();
  Response answer = call.json(joined_objects(calendar_json(*made, "good"), shown_once.str()), 201);
  answer.headers.emplace_back("Location", fmt::format("{}/calendars/{}", kApiRoot, made->id));
  return answer;
}

Response take_back_calendar(const Call& call) {
  const FoundCalendar found = find_calendar(call, call.ids.front());
  if (!found.row) return found.refused;
  const auto taken = calendars_of(call).take_back_calendar(call.actor, call.now, found.row->id);
  if (!taken && taken.error().code == "not_found") return call.not_found("calendar that is not taken back", found.row->id);
  if (!taken) return call.store_failed(taken.error());
  return {204, "", "", {}};
}

// What the link leads to. Nothing of the link is told back or logged, and nothing is written.
Response calendar_of_link(const Call& call) {
  std::string_view secret = call.ids.front();
  if (secret.ends_with(kEnding)) secret.remove_suffix(kEnding.size());
  // A hash of 256 random bits is looked up, not compared: how long that takes tells nothing of the bits.
  const auto row = calendars_of(call).calendar_of_link(content_hash(secret));
  if (!row) return call.store_failed(row.error());
  if (!*row) return call.refuse({404, "not_found", "There is no such thing", "this link is not known", {}});
  const CalendarRow& calendar = **row;
  const auto token = maker_of(call, calendar);
  if (!token) return call.store_failed(token.error());
  if (calendar.taken_back_at || has_ended(calendar, *token, call.now))
    return call.refuse(
        {410,
         "taken_back",
         "This calendar is there no longer",
         calendar.taken_back_at ? "its link was taken back" : "the token by which its link was made has expired or was revoked",
         {}});
  auto entries = calendars_of(call).calendar_entries(calendar);
  if (!entries) return call.store_failed(entries.error());
  if (*token && !(*token)->districts.empty()) {  // a unit that went to another district leaves with it
    const std::vector<std::string>& seen = (*token)->districts;
    std::erase_if(*entries,
                  [&](const CalendarEntryRow& e) { return std::find(seen.begin(), seen.end(), e.district) == seen.end(); });
  }
  const std::string& origin = call.parts.config->access.origin;
  const std::string rests = tag_of_entries(calendar, *entries, origin);
  if (const auto known = known_tag(call.request.header("if-none-match"), rests, true)) return {304, "", "", {{"ETag", *known}}};
  const auto name_space = call.parts.store->note(kCalendarNamespaceNote);
  if (!name_space) return call.store_failed(name_space.error());
  const CalendarHead head{calendar.id, calendar.name, name_space->value_or(""), origin, link_to(secret), calendar.made_at};
  std::vector<CalendarEvent> events;
  for (CalendarEntryRow& entry : *entries) events.push_back({std::move(entry.unit), std::move(entry.entry)});
  return {200, "text/calendar; charset=utf-8", calendar_text(head, events), {{"ETag", tag_of({}, rests)}}};
}

}  // namespace hakea::service
