#include "service/engine/people.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "core/catalogue/catalogue.h"
#include "service/input/json.h"
#include "service/input/zones.h"
#include "service/output/cautions.h"
#include "service/output/json_text.h"

namespace hakea::service {
namespace {

std::string told(const Entry& entry, const Errors& errors) {
  std::string text = fmt::format("the {} {} as it was entered cannot be read", word(entry.kind), entry.id);
  for (const Error& error : errors) text += fmt::format("; {}: {}", error.where, error.what);
  return text;
}

// Adds what one stop or booking says to the decisions that all districts share; one that does not read right is told and left
// out.
void add_decision(District& decisions, std::string_view list, const Entry& entry, std::vector<std::string>& troubles) {
  auto body = parse_json(entry.body, entry.id);
  auto read =
      body ? parse_district(json_text(json::object{{list, json::array{*body}}}), entry.id) : Result<District>(body.errors());
  if (!read) {
    troubles.push_back(told(entry, read.errors()));
    return;
  }
  std::move(read->stops.begin(), read->stops.end(), std::back_inserter(decisions.stops));
  std::move(read->bookings.begin(), read->bookings.end(), std::back_inserter(decisions.bookings));
}

}  // namespace

Result<bool> read_districts(Store& store, Snapshot& picture, std::vector<std::string>& troubles) {
  for (const auto& [kind, list] : {std::pair(EntryKind::booking, &picture.bookings), std::pair(EntryKind::stop, &picture.stops),
                                   std::pair(EntryKind::observation, &picture.observations)}) {
    auto entries = store.entries(kind);
    if (!entries) return entries.errors();
    *list = *std::move(entries);
  }
  const auto districts = store.entries(EntryKind::district);
  if (!districts) return districts.errors();
  District decisions;
  for (const Entry& stop : picture.stops) add_decision(decisions, "stops", stop, troubles);
  for (const Entry& booking : picture.bookings) add_decision(decisions, "bookings", booking, troubles);
  for (const Entry& entry : *districts) {
    const auto body = parse_json(entry.body, entry.id);
    auto read = body ? parse_district(json_text(json::object{{"district", *body}}), entry.id) : Result<District>(body.errors());
    DistrictView view;
    // Its stops hold even where the rest of it does not read right.
    if (read)
      view.district = *std::move(read);
    else
      troubles.push_back(told(entry, read.errors()));
    view.district.id = entry.id;
    view.district.stops = decisions.stops;
    view.district.bookings = decisions.bookings;
    view.revision = entry.revision;
    view.json = entry.body;
    const std::string named = body ? text_member(*body, "time_zone") : std::string(), name = named.empty() ? "UTC" : named;
    if (auto zone = time_zone(name))
      view.zone = &picture.zones.insert_or_assign(name, *std::move(zone)).first->second;
    else
      troubles.push_back(told(entry, zone.errors()));
    if (!view.zone) view.zone = &picture.zones.try_emplace("UTC").first->second;
    if (picture.is_demo) view.caution.emplace_back(kFictional);
    picture.districts.insert_or_assign(entry.id, std::move(view));
  }
  return true;
}

std::shared_ptr<UnitView> read_unit(const Entry& unit, const std::vector<Entry>& prescriptions, const FuelTable& fuels,
                                    std::vector<std::string>& troubles) {
  auto view = std::make_shared<UnitView>();
  auto body = parse_json(unit.body, unit.id);
  if (!body || !body->is_object() || !body->as_object().contains("properties") ||
      !body->as_object().at("properties").is_object()) {
    troubles.push_back(told(unit, body ? Errors() : body.errors()));
    return nullptr;
  }
  json::object feature = body->as_object();
  feature["id"] = unit.id;
  json::object& properties = feature["properties"].as_object();
  json::object others;
  for (const Entry& entry : prescriptions) {
    const std::string which = entry.id.substr(entry.id.find('/') + 1);
    const auto prescription = parse_json(entry.body, entry.id);
    if (!prescription) {
      troubles.push_back(told(entry, prescription.errors()));
      continue;
    }
    if (which == "main") {
      properties["prescription"] = *prescription;
      view->prescription_json = entry.body;
      view->prescription_revision = entry.revision;
    } else {
      others[which] = *prescription;
    }
  }
  if (!others.empty()) properties["prescriptions"] = std::move(others);
  view->feature_json = json_text(feature);
  auto read = parse_units(view->feature_json, fuels, unit.id);
  if (!read || read->size() != 1) {
    troubles.push_back(told(unit, read ? Errors() : read.errors()));
    return nullptr;
  }
  view->unit = std::move(read->front());
  view->revision = unit.revision;
  view->updated_at = unit.at;
  for (const Entry& entry : prescriptions) view->updated_at = std::max(view->updated_at, entry.at);
  return view;
}

void count_fuel_age(UnitView& view, const FuelTable& fuels, UtcTime now) {
  if (!tells_age_of_a_date(view.feature_json)) return;
  auto read = parse_units_at(now, view.feature_json, fuels, view.unit.id);
  if (read && read->size() == 1) view.unit = std::move(read->front());
}

std::map<std::string, std::vector<EnteredReading>, std::less<>> readings_of(const std::vector<Entry>& observations) {
  std::map<std::string, std::vector<EnteredReading>, std::less<>> readings;
  for (const Entry& entry : observations) {
    const auto body = parse_json(entry.body, entry.id);
    if (!body || !body->is_object()) continue;
    const json::object& observation = body->as_object();
    const json::value *whose = observation.if_contains("unit"), *kind = observation.if_contains("kind"),
                      *at = observation.if_contains("at"), *values = observation.if_contains("values");
    if (!whose || !whose->is_string() || !at || !at->is_string() || !values || !values->is_object()) continue;
    // An official forecast is shown beside ours and changes nothing.
    if (kind && kind->is_string() && kind->as_string() != "reading") continue;
    const auto time = parse_instant(at->as_string());
    if (!time) continue;
    for (const auto& [key, value] : values->as_object()) {
      const auto quantity = core::find_quantity(key);
      const json::value* number = value.is_object() ? value.as_object().if_contains("value") : nullptr;
      if (quantity && number && number->is_number())
        readings[std::string(whose->as_string())].push_back({*quantity, UtcHour::of(*time), number->to_number<double>()});
    }
  }
  return readings;
}

}  // namespace hakea::service
