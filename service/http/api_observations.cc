// /observations: readings on site or of a station, and official forecasts to be shown beside ours.
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "core/catalogue/catalogue.h"
#include "ingest/station/ucum.h"
#include "service/engine/people.h"
#include "service/http/entries.h"
#include "service/http/filters.h"
#include "service/http/handlers.h"
#include "service/http/paging.h"
#include "service/input/unit_json.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::array<std::string_view, 2> kKinds{"reading", "official_forecast"};
constexpr std::size_t kAtMost = 500;  // of one body

// The number in the catalogue's unit.
std::optional<double> value_in_our_unit(JsonObject& value, const core::QuantityRow& row) {
  value.require("value", "write the number");
  value.require("unit", fmt::format("write its unit, such as {}", row.unit));
  const auto number = value.number("value");
  const auto unit = value.text("unit");
  value.refuse_unknown_members();
  if (!number || !unit) return std::nullopt;
  const auto conversion = ingest::convert_ucum(*unit, row.unit);
  if (!conversion) {
    value.refuse("unit", "wrong_unit", fmt::format("{} does not come in \"{}\"", row.key, *unit),
                 fmt::format("write it in one of {}", ingest::accepted_ucum_units(row.unit)));
    return std::nullopt;
  }
  const double ours = *number * conversion->factor + conversion->offset;
  if (ours >= row.lowest && ours <= row.highest) return ours;
  value.refuse("value", "out_of_range", fmt::format("{} {} of {} cannot be", *number, *unit, row.key),
               fmt::format("write a number from {} to {} {}", row.lowest, row.highest, row.unit));
  return std::nullopt;
}

void write_values(JsonObject& observation, JsonWriter& out) {
  out.key("values").begin_object();
  if (observation.require("values", R"(write {"relative_humidity":{"value":52,"unit":"%"}})")) {
    const json::value& values = *observation.find("values");
    const auto* object = values.if_object();
    if (!object || object->empty())
      observation.refuse("values", "wrong_kind", fmt::format("{} holds no values", shown(values)),
                         R"(write {"relative_humidity":{"value":52,"unit":"%"}})");
    for (const auto& member : object ? *object : json::object()) {
      const std::string_view key = member.key();
      const std::string pointer = pointer_to(observation.at("values"), key);
      const auto quantity = core::find_quantity(key);
      if (!quantity) {
        observation.mistakes().push_back(unknown_quantity(pointer, key));
        continue;
      }
      const core::QuantityRow& row = core::catalogue()[*quantity];
      JsonObject value(member.value(), pointer, observation.mistakes());
      if (const auto ours = value_in_our_unit(value, row))
        out.key(key).begin_object().number("value", *ours).text("unit", row.unit).end_object();
    }
  }
  out.end_object();
}

// Where it was read; with a unit a place of its own, else that of the station.
void read_place(JsonObject& observation, JsonWriter& out) {
  const NumberBounds heights{-500, 9000};
  const json::value* position = observation.find("position");
  const auto elevation = observation.number("elevation_m", heights);
  if (elevation && !position)
    observation.refuse("position", "required", "a height without a place", "write position as [longitude, latitude]");
  if (!position) return;
  const auto place = read_position(*position, observation.at("position"), observation.mistakes());
  if (!place) return;
  out.key("position").begin_list().raw(fmt::format("{},{}", place->longitude_deg, place->latitude_deg)).end_list();
  if (elevation) out.number("elevation_m", *elevation);
}

struct ReadObservation {
  std::string body;             // as stored
  std::string unit;             // that it names
  std::set<std::string> units;  // whose weather it bears on
};

// The observation as stored, and whose weather it bears on.
std::string with_units(const Entry& entry, const std::set<std::string>& units) {
  JsonWriter counts;
  counts.begin_object().texts("counts_for", units).end_object();
  return joined_objects(entry_json(entry), counts.str());
}

ReadObservation read_observation(const Call& call, const json::value& value, const std::string& pointer, Errors& mistakes) {
  ReadObservation read;
  JsonObject observation(value, pointer, mistakes);
  observation.ignore({"id", "revision", "by", "counts_for", "run", "freshness", "caution"});  // ours
  const auto unit = observation.text("unit"), station = observation.text("station");
  if (unit && station)
    observation.refuse("unit", "contradictory", "both unit and station are named", "name one of them");
  else if (!unit && !station && !observation.has("position"))
    observation.refuse("unit", "required", "neither unit nor station is named, nor a position",
                       "name a unit or a station, or write where it was read");
  JsonWriter out;
  out.begin_object();
  if (unit) {
    const UnitView* view = call.picture->unit(*unit);
    if (!view)
      observation.refuse("unit", "unknown_unit", fmt::format("there is no unit \"{}\"", *unit), "write the id of a unit");
    else if (!call.may_see(view->unit.district))
      observation.refuse("unit", "other_district", "this token is for other districts", "ask for a token of that district");
    read.unit = *unit;
    out.text("unit", *unit);
  } else if (station) {
    out.text("station", *station);
  }
  read_place(observation, out);
  const auto kind = observation.word("kind", kKinds);
  const std::string_view word = kKinds[kind.value_or(0)];
  observation.require("at", "write when it was read, with its offset");
  if (const auto at = observation.instant("at")) {
    if (word == "reading") refuse_the_future(*at, observation.at("at"), call.now, mistakes);
    out.text("at", utc_text(*at));
  }
  out.text("kind", word);
  write_values(observation, out);
  out.text("by", call.actor.name).end_object();
  observation.refuse_unknown_members();
  read.body = out.str();
  if (const auto body = parse_json(read.body, "observation"); body && mistakes.empty())
    read.units = heeding_units(*body, *call.picture);
  return read;
}

}  // namespace

Response list_observations(const Call& call) {
  Errors mistakes;
  const PageAsked page = page_asked(call, mistakes);
  const EntryFilter filter(call, AskedBy::instant, {"unit", "station", "kind"}, mistakes);
  query_word(call, "kind", kKinds, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto entries = call.parts.store->entries(EntryKind::observation);
  if (!entries) return call.store_failed(entries.error());
  return entries_response(call, "observations", *entries, page, filter);
}

Response show_observation(const Call& call) {
  const FoundEntry found = find_entry(call, EntryKind::observation, "observation");
  if (!found.entry) return found.refused;
  return entry_response(call, *found.entry, 200, "observations",
                        with_units(*found.entry, heeding_units(body_of(*found.entry), *call.picture)));
}

// One observation, or a list of them: stored all together or not at all.
Response add_observation(const Call& call) {
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  Errors mistakes;
  std::vector<ReadObservation> read;
  if (const auto* list = body->if_array()) {
    if (list->empty() || list->size() > kAtMost)
      mistakes.push_back({ErrorKind::invalid, "out_of_range", "", fmt::format("{} observations are sent", list->size()),
                          fmt::format("send 1 to {}", kAtMost)});
    for (std::size_t i = 0; i < list->size() && mistakes.size() < kAtMost; ++i)
      read.push_back(read_observation(call, (*list)[i], pointer_to("", i), mistakes));
  } else {
    read.push_back(read_observation(call, *body, "", mistakes));
  }
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  // What a station saw decides for all units within its reach.
  for (const ReadObservation& observation : read)
    for (const std::string& id : observation.units)
      if (const UnitView* view = call.picture->unit(id); view && !call.may_see(view->unit.district)) return call.other_district();
  std::vector<Change> changes;
  std::set<std::string> touched;
  for (const ReadObservation& observation : read) {
    changes.push_back({EntryKind::observation, "", observation.body, {}, "create", ""});
    touched.insert(observation.units.begin(), observation.units.end());
    if (!observation.unit.empty()) touched.insert(observation.unit);
  }
  const Written written = write(call, changes, touched.empty() ? std::nullopt : std::optional(touched));
  if (written.refused) return *written.refused;
  std::string list;
  for (std::size_t i = 0; i < written.entries.size(); ++i)
    (list += list.empty() ? "" : ",") += with_units(written.entries[i], read[i].units);
  if (body->is_array()) return call.json(R"({"observations":[)" + list + "]}", 201);
  return entry_response(call, written.entries.front(), 201, "observations", list);
}

}  // namespace hakea::service
