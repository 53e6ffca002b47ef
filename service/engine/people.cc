#include "service/engine/people.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "core/catalogue/catalogue.h"
#include "core/weather/humidity.h"
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
  auto read = body ? district_in(json::object{{list, json::array{*body}}}) : Result<District>(body.errors());
  if (!read) {
    troubles.push_back(told(entry, read.errors()));
    return;
  }
  std::move(read->stops.begin(), read->stops.end(), std::back_inserter(decisions.stops));
  std::move(read->bookings.begin(), read->bookings.end(), std::back_inserter(decisions.bookings));
}

// What was posted of one station.
struct StationReadings {
  std::optional<core::Site> site;
  std::vector<EnteredReading> readings;  // in the order they were entered
};

std::optional<core::Site> site_member(const json::value& observation) {
  const json::value* position = observation.as_object().if_contains("position");
  const json::array* pair = position ? position->if_array() : nullptr;
  if (!pair || pair->size() != 2 || !(*pair)[0].is_number() || !(*pair)[1].is_number()) return std::nullopt;
  core::Site site;
  site.longitude_deg = (*pair)[0].to_number<double>();
  site.latitude_deg = (*pair)[1].to_number<double>();
  if (const json::value* elevation = observation.as_object().if_contains("elevation_m"); elevation && elevation->is_number())
    site.elevation = Metres(elevation->to_number<double>());
  return site;
}

// As the observation says, or one before it, or a feed.
std::optional<core::Site> site_of_station(const json::value& observation, const Snapshot& picture) {
  if (const auto site = site_member(observation)) return site;
  const std::string name = station_name(observation);
  for (auto entry = picture.observations.rbegin(); entry != picture.observations.rend(); ++entry)
    if (const auto body = parse_json(entry->body, entry->id); body && body->is_object() && text_member(*body, "station") == name)
      if (const auto site = site_member(*body)) return site;
  for (const auto& [id, view] : picture.units)
    for (std::size_t p = 0; view->weather && p < view->unit.points.size(); ++p)
      for (const StationOfPoint& station : view->weather->seen().stations(p))
        if (station.name() == name) return station.site();
  return std::nullopt;
}

// Humidity needs the warmth of the same hour to be carried to other heights; what is not weather stays where it was read.
std::shared_ptr<PostedStation> hours_of_station(const std::string& name, const StationReadings& station) {
  auto hours = std::make_shared<PostedStation>();
  hours->name = name;
  hours->site = *station.site;
  const std::size_t temperature = surface_place("air_temperature"), dew = surface_place("dew_point_temperature");
  std::map<UtcHour, PostedStation::Value> humidity;
  for (const EnteredReading& reading : station.readings) {
    const std::string_view key = core::catalogue()[reading.quantity].key;
    const PostedStation::Value value{static_cast<float>(reading.value), reading.entry};
    if (key == "relative_humidity")
      humidity[reading.hour] = value;
    else if (const std::size_t q = surface_place(key); q < kSurfaceQuantities && key != "mixing_height")
      hours->hours[reading.hour][q] = value;
  }
  for (const auto& [hour, read] : humidity) {
    const auto there = hours->hours.find(hour);
    if (there == hours->hours.end() || !std::isnan(there->second[dew].value) || std::isnan(there->second[temperature].value))
      continue;
    const Percent percent = core::plausible_humidity(Percent(static_cast<double>(read.value)));
    const Celsius point =
        core::dew_point(core::AirAndHumidity{Celsius(static_cast<double>(there->second[temperature].value)), percent});
    there->second[dew] = {static_cast<float>(point.value()), read.entry};
  }
  return hours;
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
    auto read = body ? district_in(json::object{{"district", *body}}) : Result<District>(body.errors());
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

PostedWeather posted_weather(const std::vector<Entry>& observations, const StationPlaces& places, UtcTime from) {
  PostedWeather posted;
  std::map<std::string, StationReadings> stations;
  for (const Entry& entry : observations) {
    const auto body = parse_json(entry.body, entry.id);
    if (!body || !body->is_object()) continue;
    const json::object& observation = body->as_object();
    const json::value *at = observation.if_contains("at"), *values = observation.if_contains("values");
    if (!at || !at->is_string() || !values || !values->is_object()) continue;
    // An official forecast is shown beside ours and changes nothing.
    if (const std::string kind = text_member(*body, "kind"); !kind.empty() && kind != "reading") continue;
    const auto time = parse_instant(at->as_string());
    if (!time) continue;
    const std::string unit = text_member(*body, "unit");
    StationReadings* const station = unit.empty() ? &stations[station_name(*body)] : nullptr;
    if (station)
      if (const auto site = site_member(*body)) station->site = site;
    if (station && *time < from) continue;
    for (const auto& [key, value] : values->as_object()) {
      const auto quantity = core::find_quantity(key);
      const json::value* number = value.is_object() ? value.as_object().if_contains("value") : nullptr;
      if (!quantity || !number || !number->is_number()) continue;
      const EnteredReading reading{*quantity, UtcHour::of(*time), number->to_number<double>(), entry.id};
      (station ? station->readings : posted.readings[unit]).push_back(reading);
    }
  }
  for (auto& [name, station] : stations) {
    if (const auto known = places.find(name); !station.site && known != places.end()) station.site = known->second;
    if (!station.site) continue;
    if (auto hours = hours_of_station(name, station); !hours->hours.empty()) posted.stations.push_back(std::move(hours));
  }
  return posted;
}

std::string station_name(const json::value& observation) {
  std::string name = text_member(observation, "station");
  if (!name.empty() || !observation.is_object() || observation.as_object().contains("unit")) return name;
  const auto site = site_member(observation);
  return site ? fmt::format("{:.4f},{:.4f}", site->latitude_deg, site->longitude_deg) : name;
}

std::set<std::string> heeding_units(const json::value& observation, const Snapshot& picture) {
  if (!observation.is_object()) return {};
  const json::value* values = observation.as_object().if_contains("values");
  if (text_member(observation, "kind") != "reading" || !values || !values->is_object()) return {};
  if (const std::string unit = text_member(observation, "unit"); !unit.empty()) return {unit};
  const bool is_weather = std::any_of(values->as_object().begin(), values->as_object().end(), [](const auto& value) {
    const std::string_view key = value.key();
    return key == "relative_humidity" || (key != "mixing_height" && surface_place(key) < kSurfaceQuantities);
  });
  const auto site = is_weather ? site_of_station(observation, picture) : std::nullopt;
  std::set<std::string> units;
  for (const auto& [id, view] : picture.units)
    if (site && speaks_for(*site, view->unit)) units.insert(id);
  return units;
}

EnteredWeather entered_for(const PostedWeather& posted, const Unit& unit) {
  EnteredWeather entered;
  if (const auto own = posted.readings.find(unit.id); own != posted.readings.end()) entered.readings = own->second;
  for (const PostedStationPtr& station : posted.stations)
    if (speaks_for(station->site, unit)) entered.stations.push_back(station);
  return entered;
}

EnteredWeather entered_for(const Snapshot& picture, const Unit& unit) {
  StationPlaces places;
  if (const UnitView* view = picture.unit(unit.id); view && view->weather)
    for (std::size_t p = 0; p < unit.points.size(); ++p)
      for (const StationOfPoint& station : view->weather->seen().stations(p)) places.try_emplace(station.name(), station.site());
  return entered_for(posted_weather(picture.observations, places, UtcTime::min()), unit);
}

}  // namespace hakea::service
