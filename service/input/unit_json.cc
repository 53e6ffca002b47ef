#include "service/input/unit_json.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/nearest.h"
#include "service/base/workers.h"
#include "service/input/entry_words.h"
#include "service/input/prescription_json.h"
#include "service/input/spread_points.h"
#include "service/input/zones.h"

namespace hakea::service {
namespace {

constexpr std::array<std::string_view, 6> kStatuses{"planned", "ready", "not_ready", "treated", "part_burnt", "retired"};
constexpr std::array<std::string_view, 3> kGeometries{"Point", "Polygon", "MultiPolygon"};

bool is_slug(std::string_view id) {
  const auto is_letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9'); };
  return !id.empty() && id.size() <= 63 && is_letter(id.front()) &&
         std::all_of(id.begin(), id.end(), [&](char c) { return is_letter(c) || c == '-'; });
}

std::vector<Ring> read_polygon(const json::value& value, const std::string& pointer, Errors& mistakes) {
  std::vector<Ring> rings;
  const json::array* list = value.if_array();
  if (!list || list->empty()) {
    mistakes.push_back({ErrorKind::invalid, "not_a_polygon", pointer, fmt::format("{} is not a polygon", shown(value)),
                        "write a list of closed rings, the outer one first"});
    return rings;
  }
  for (std::size_t r = 0; r < list->size(); ++r) {
    const std::string at = pointer_to(pointer, r);
    const json::array* positions = (*list)[r].if_array();
    const std::size_t mistakes_before = mistakes.size();
    Ring ring;
    for (std::size_t i = 0; positions && i < positions->size(); ++i)
      if (const auto position = read_position((*positions)[i], pointer_to(at, i), mistakes)) ring.push_back(*position);
    const bool is_closed = ring.size() >= 4 && ring.front().longitude_deg == ring.back().longitude_deg &&
                           ring.front().latitude_deg == ring.back().latitude_deg;
    if (!is_closed && mistakes.size() == mistakes_before)
      mistakes.push_back({ErrorKind::invalid, "ring_not_closed", at,
                          "a ring needs at least four positions, the last equal to the first", "close the ring"});
    rings.push_back(std::move(ring));
  }
  return rings;
}

Geometry read_geometry(const json::value& value, const std::string& pointer, Errors& mistakes) {
  Geometry geometry;
  JsonObject object(value, pointer, mistakes);
  object.require("type", "write Polygon or MultiPolygon");
  object.require("coordinates", "write the coordinates, in degrees");
  object.ignore({"bbox"});
  const auto type = object.word("type", kGeometries);
  const json::array* coordinates = object.list("coordinates");
  if (type && coordinates) {
    geometry.type = std::string(kGeometries[*type]);
    if (*type == 0)
      geometry.point = read_position(*object.find("coordinates"), object.at("coordinates"), mistakes).value_or(Position{});
    if (*type == 1) geometry.polygons.push_back(read_polygon(*object.find("coordinates"), object.at("coordinates"), mistakes));
    if (*type == 2)
      for (std::size_t i = 0; i < coordinates->size(); ++i)
        geometry.polygons.push_back(read_polygon((*coordinates)[i], pointer_to(object.at("coordinates"), i), mistakes));
    if (*type == 2 && coordinates->empty())
      object.refuse("coordinates", "not_a_polygon", "the MultiPolygon has no polygon", "write at least one");
  }
  object.refuse_unknown_members();
  return geometry;
}

constexpr double kDaysInYear = 365.25;

core::Fuel read_fuel(const json::value& value, const std::string& pointer, const FuelTable& fuels, std::optional<LocalDate> today,
                     Errors& mistakes) {
  core::Fuel fuel;
  JsonObject object(value, pointer, mistakes);
  object.require("type", "name a fuel type such as dry-eucalypt-forest");
  if (const auto type = object.text("type")) {
    if (const auto known = fuels.by_type.find(*type); known != fuels.by_type.end()) {
      fuel = known->second;
    } else {
      std::vector<std::string_view> types;
      for (const auto& [name, row] : fuels.by_type) types.push_back(name);
      const std::string_view near = nearest(*type, types);
      object.refuse(
          "type", "unknown_fuel", fmt::format("the fuel type \"{}\" is not known", *type),
          near.empty() ? fmt::format("write one of {}", fmt::join(types, ", ")) : fmt::format("did you mean {}?", near));
    }
  }
  for (const FuelNumber& number : fuel_numbers())
    if (number.in_units)
      if (const auto given = object.number(number.name, {number.lowest, number.highest})) number.set(fuel, *given);
  if (const auto grass = object.word("grass", grass_states())) fuel.grass = static_cast<core::GrassState>(*grass);
  if (const auto as_of = object.date("age_as_of")) {
    object.require("age_years", "write how old the fuel was on that date");
    if (today && *today > *as_of) fuel.age_years += static_cast<double>((*today - *as_of).count()) / kDaysInYear;
  }
  object.refuse_unknown_members();
  return core::completed(std::move(fuel));
}

// Terrain members of a unit or of one of its points; what is left out stays as it was.
void read_terrain(JsonObject& object, core::Site& site) {
  if (const auto elevation = object.number("elevation_m", {-450, 8900})) site.elevation = Metres(*elevation);
  if (const auto slope = object.number("slope_deg", {0, 90})) site.slope = Degrees(*slope);
  if (const auto aspect = object.number("aspect_deg", {0, 360})) site.aspect = Degrees(*aspect);
}

core::WetnessState read_initial_state(const json::value& value, const std::string& pointer, Errors& mistakes) {
  core::WetnessState state;
  JsonObject object(value, pointer, mistakes);
  object.require("as_of", "write the local date at whose end the state holds");
  state.as_of = object.date("as_of").value_or(LocalDate{});
  const auto number = [&](std::string_view name, NumberBounds bounds) {
    return object.number(name, bounds).value_or(std::numeric_limits<double>::quiet_NaN());
  };
  state.kbdi = Millimetres(number("kbdi", {0, 203.2}));
  state.drought_factor = One(number("drought_factor", {0, 10}));
  state.litter_moisture = Percent(number("litter_moisture", {0, 400}));
  state.litter_moisture_sheltered = Percent(number("litter_moisture_sheltered", {0, 400}));
  state.ffmc = One(number("ffmc", {0, 101}));
  state.dmc = One(number("dmc", {0, 2000}));
  state.dc = One(number("dc", {0, 5000}));
  if (const json::value* rain = object.find("last_rain")) {
    JsonObject event(*rain, object.at("last_rain"), mistakes);
    event.require("ended", "write when the rain ended");
    event.require("amount_mm", "write how much fell");
    const auto ended = event.instant("ended");
    const auto amount = event.number("amount_mm", {0, 3000});
    if (ended && amount) state.last_rain = core::RainEvent{*ended, Millimetres(*amount)};
    event.refuse_unknown_members();
  }
  object.refuse_unknown_members();
  return state;
}

core::Needs read_needs(const json::value& value, const std::string& pointer, Errors& mistakes) {
  core::Needs needs;
  JsonObject object(value, pointer, mistakes);
  needs.crews = object.whole_number("crews", 0, 1000).value_or(0);
  needs.tankers = object.whole_number("tankers", 0, 1000).value_or(0);
  needs.aircraft = object.whole_number("aircraft", 0, 1000).value_or(0);
  needs.plant = object.whole_number("plant", 0, 1000).value_or(0);
  needs.depot = object.text("depot").value_or("");
  needs.travel_h = object.number("travel_h", {0, 48}).value_or(0);
  needs.patrol_crews = object.whole_number("patrol_crews", 0, 1000).value_or(0);
  needs.patrol_days = object.whole_number("patrol_days", 0, 366).value_or(0);
  object.refuse_unknown_members();
  return needs;
}

void read_neighbours(JsonObject& properties, Unit& unit) {
  if (const json::array* adjacent = properties.list("adjacent"))
    for (std::size_t i = 0; i < adjacent->size(); ++i) {
      if (const auto* id = (*adjacent)[i].if_string())
        unit.adjacent.emplace_back(id->data(), id->size());
      else
        properties.mistakes().push_back({ErrorKind::invalid, "wrong_kind", pointer_to(properties.at("adjacent"), i),
                                         fmt::format("{} is not the id of a unit", shown((*adjacent)[i])),
                                         "write the id of a unit"});
    }
  if (const json::array* after = properties.list("after"))
    for (std::size_t i = 0; i < after->size(); ++i) {
      JsonObject object((*after)[i], pointer_to(properties.at("after"), i), properties.mistakes());
      object.require("unit", "write the id of the unit to be lit before");
      object.require("days", "write how many days before");
      const auto id = object.text("unit");
      const auto days = object.whole_number("days", 0, 3660);
      if (id && days) unit.after.push_back({*id, *days});
      object.refuse_unknown_members();
    }
  if (const json::array* receptors = properties.list("receptors"))
    for (std::size_t i = 0; i < receptors->size(); ++i) {
      JsonObject object((*receptors)[i], pointer_to(properties.at("receptors"), i), properties.mistakes());
      object.require("position", "write [longitude, latitude]");
      Receptor receptor{object.text("name").value_or(""), object.text("kind").value_or(""), {}};
      if (const json::value* position = object.find("position"))
        receptor.position = read_position(*position, object.at("position"), properties.mistakes()).value_or(Position{});
      unit.traits.receptors.push_back(
          core::seen_from(unit.traits.site, receptor.position.latitude_deg, receptor.position.longitude_deg));
      unit.receptors.push_back(std::move(receptor));
      object.refuse_unknown_members();
    }
}

void read_points(JsonObject& properties, Unit& unit) {
  const json::array* points = properties.list("points");
  for (std::size_t i = 0; points && i < points->size(); ++i) {
    JsonObject object((*points)[i], pointer_to(properties.at("points"), i), properties.mistakes());
    core::UnitTraits traits = unit.traits;
    object.require("position", "write [longitude, latitude]");
    if (const json::value* value = object.find("position"))
      if (const auto position = read_position(*value, object.at("position"), properties.mistakes())) {
        traits.site.latitude_deg = position->latitude_deg;
        traits.site.longitude_deg = position->longitude_deg;
      }
    read_terrain(object, traits.site);
    traits.site.sheltered = object.yes_or_no("sheltered").value_or(false);
    unit.points.push_back(std::move(traits));
    object.refuse_unknown_members();
  }
  if (!unit.points.empty()) return;
  unit.points.push_back(unit.traits);
  if (unit.area_ha.value_or(area_ha(unit.geometry)) < kLargeUnit_ha) return;
  for (const Position& position : spread_positions(unit.geometry)) {
    core::UnitTraits traits = unit.traits;
    traits.site.latitude_deg = position.latitude_deg;
    traits.site.longitude_deg = position.longitude_deg;
    unit.points.push_back(std::move(traits));
  }
}

void read_properties(const json::value& value, const std::string& pointer, const FuelTable& fuels, std::optional<UtcTime> now,
                     Unit& unit, Errors& mistakes) {
  JsonObject properties(value, pointer, mistakes);
  unit.name = properties.text("name").value_or(unit.id);
  unit.district = properties.text("district").value_or("");
  properties.require("time_zone", "write an IANA name such as Australia/Sydney");
  if (const auto name = properties.text("time_zone")) {
    const auto zone = time_zone(*name);
    if (zone)
      unit.traits.zone = *zone;
    else
      properties.refuse("time_zone", zone.error().code, zone.error().what, zone.error().hint);
  }
  unit.area_ha = properties.number("area_ha", {0, 1e7});
  if (unit.area_ha) unit.traits.area_ha = *unit.area_ha;
  if (const auto status = properties.word("status", kStatuses)) unit.status = std::string(kStatuses[*status]);
  unit.priority = properties.whole_number("priority", 1, 5).value_or(3);
  read_terrain(properties, unit.traits.site);
  const auto today = now ? std::optional(unit.traits.zone.date(*now)) : std::nullopt;
  if (const json::value* fuel = properties.find("fuel"))
    unit.traits.fuel = read_fuel(*fuel, properties.at("fuel"), fuels, today, mistakes);
  if (const auto rain = properties.number("annual_rain_mm", {0, 15000})) unit.traits.annual_rain = Millimetres(*rain);
  unit.traits.sea_bearing_deg = properties.number("sea_bearing_deg", {0, 360});
  unit.airshed = properties.text("airshed").value_or("");
  read_neighbours(properties, unit);
  if (const json::value* needs = properties.find("needs")) unit.needs = read_needs(*needs, properties.at("needs"), mistakes);
  unit.notice_days = properties.whole_number("notice_days", 0, 366).value_or(0);
  if (const json::value* prescription = properties.find("prescription"))
    give_prescription(unit, read_prescription(*prescription, properties.at("prescription"), mistakes));
  if (const json::value* others = properties.find("prescriptions")) {
    if (const auto* by_name = others->if_object()) {
      for (const auto& member : *by_name)
        unit.prescriptions.emplace(
            std::string(member.key()),
            read_prescription(member.value(), pointer_to(properties.at("prescriptions"), std::string_view(member.key())),
                              mistakes));
    } else {
      properties.refuse("prescriptions", "wrong_kind", "prescriptions is not an object",
                        "write an object of prescriptions by name");
    }
  }
  if (const json::value* state = properties.find("initial_state"))
    unit.initial_state = read_initial_state(*state, properties.at("initial_state"), mistakes);
  read_points(properties, unit);
  properties.refuse_unknown_members();
}

Unit read_unit(const json::value& value, const std::string& pointer, const FuelTable& fuels, std::optional<UtcTime> now,
               Errors& mistakes) {
  Unit unit;
  JsonObject feature(value, pointer, mistakes);
  constexpr std::array<std::string_view, 1> kType{"Feature"};
  feature.require("type", "write \"type\":\"Feature\"");
  feature.word("type", kType);
  feature.ignore({"bbox"});
  if (feature.require("id", "give the unit an id of small letters, digits and hyphens"))
    if (const auto id = feature.text("id")) {
      unit.id = *id;
      if (!is_slug(unit.id))
        feature.refuse("id", "not_a_slug", fmt::format("the id \"{}\" is not of the form a-z, 0-9 and -", unit.id),
                       "use at most 63 small letters, digits and hyphens, a letter or digit first");
    }
  feature.require("geometry", "draw the unit as a Polygon or MultiPolygon");
  if (const json::value* geometry = feature.find("geometry")) {
    const std::size_t mistakes_before = mistakes.size();
    unit.geometry = read_geometry(*geometry, feature.at("geometry"), mistakes);
    if (mistakes.size() == mistakes_before) {
      const Position centre = unit.geometry.centroid();
      unit.traits.site.latitude_deg = centre.latitude_deg;
      unit.traits.site.longitude_deg = centre.longitude_deg;
    }
  }
  if (feature.require("properties", "describe the unit"))
    read_properties(*feature.find("properties"), feature.at("properties"), fuels, now, unit, mistakes);
  feature.refuse_unknown_members();
  return unit;
}

void refuse_repeated_ids(const std::vector<Unit>& units, Errors& mistakes) {
  std::map<std::string_view, std::size_t> seen;
  for (std::size_t i = 0; i < units.size(); ++i) {
    if (units[i].id.empty()) continue;
    const auto [first, is_new] = seen.emplace(units[i].id, i);
    if (!is_new)
      mistakes.push_back({ErrorKind::invalid, "repeated_id", fmt::format("/features/{}/id", i),
                          fmt::format("the id \"{}\" is that of /features/{} too", units[i].id, first->second),
                          "give every unit its own id"});
  }
}

}  // namespace

std::optional<Position> read_position(const json::value& value, const std::string& pointer, Errors& mistakes) {
  const json::array* pair = value.if_array();
  if (!pair || pair->size() < 2 || pair->size() > 3 || !(*pair)[0].is_number() || !(*pair)[1].is_number()) {
    mistakes.push_back({ErrorKind::invalid, "not_a_position", pointer, fmt::format("{} is not a position", shown(value)),
                        "write [longitude, latitude] in degrees"});
    return std::nullopt;
  }
  const Position position{(*pair)[0].to_number<double>(), (*pair)[1].to_number<double>()};
  if (std::abs(position.latitude_deg) > 90 || std::abs(position.longitude_deg) > 180) {
    mistakes.push_back({ErrorKind::invalid, "out_of_range", pointer, fmt::format("{} is not on the globe", shown(value)),
                        "write [longitude, latitude], from -180 to 180 and from -90 to 90"});
    return std::nullopt;
  }
  return position;
}

void give_prescription(Unit& unit, core::Prescription prescription) {
  unit.traits.lighting = Hours(prescription.duration_h * prescription.consecutive_days);
  for (core::UnitTraits& point : unit.points) point.lighting = unit.traits.lighting;
  unit.prescription = std::move(prescription);
}

// Of the area inside the outer rings and outside the holes, in the plane of longitude and latitude; units are small
// against the globe.
Position Geometry::centroid() const {
  if (polygons.empty()) return point;
  double area = 0, x = 0, y = 0;
  const Position origin = polygons.front().front().front();  // differences keep their digits
  for (const auto& polygon : polygons)
    for (std::size_t r = 0; r < polygon.size(); ++r) {
      double ring_area = 0, ring_x = 0, ring_y = 0;
      for (std::size_t i = 0; i + 1 < polygon[r].size(); ++i) {
        const double x0 = polygon[r][i].longitude_deg - origin.longitude_deg,
                     y0 = polygon[r][i].latitude_deg - origin.latitude_deg;
        const double x1 = polygon[r][i + 1].longitude_deg - origin.longitude_deg,
                     y1 = polygon[r][i + 1].latitude_deg - origin.latitude_deg;
        const double cross = x0 * y1 - x1 * y0;
        ring_area += cross;
        ring_x += (x0 + x1) * cross;
        ring_y += (y0 + y1) * cross;
      }
      const double sign =
          (ring_area < 0) == (r == 0) ? -1 : 1;  // outer rings count, holes are taken off, whichever way they are drawn
      area += sign * ring_area;
      x += sign * ring_x;
      y += sign * ring_y;
    }
  if (area == 0) return origin;
  return {origin.longitude_deg + x / (3 * area), origin.latitude_deg + y / (3 * area)};
}

namespace {

Result<std::vector<Unit>> read_units(std::optional<UtcTime> now, std::string_view text, const FuelTable& fuels,
                                     const std::string& name) {
  // A document of thousands of units takes its memory at one go. A copy of a part of it would take its own from there too, which
  // only one thread may do: none is made.
  const Result<json::value> document = parse_json(text, name, json::make_shared_resource<json::monotonic_resource>());
  if (!document) return document.errors();
  Errors mistakes;
  std::vector<Unit> units;
  const auto* object = document->if_object();
  const json::value* type = object ? object->if_contains("type") : nullptr;
  if (type && type->is_string() && type->get_string() == "Feature") {
    units.push_back(read_unit(*document, "", fuels, now, mistakes));
  } else {
    JsonObject collection(*document, "", mistakes);
    constexpr std::array<std::string_view, 2> kTypes{"FeatureCollection", "Feature"};
    collection.require("type", "write \"type\":\"FeatureCollection\"");
    collection.word("type", kTypes);
    collection.require("features", "list the units as GeoJSON Features");
    if (const json::array* features = collection.list("features")) {
      units.resize(features->size());
      std::vector<Errors> mistakes_of(features->size());
      for_all(features->size(), [&](std::size_t i) {
        units[i] = read_unit((*features)[i], pointer_to("/features", i), fuels, now, mistakes_of[i]);
      });
      for (const Errors& of_unit : mistakes_of) mistakes.insert(mistakes.end(), of_unit.begin(), of_unit.end());
    }
    refuse_repeated_ids(units, mistakes);
  }
  if (!mistakes.empty()) return mistakes;
  return units;
}

}  // namespace

std::span<const std::string_view> unit_statuses() { return kStatuses; }

Result<std::vector<Unit>> parse_units(std::string_view text, const FuelTable& fuels, const std::string& name) {
  return read_units(std::nullopt, text, fuels, name);
}

bool tells_age_of_a_date(std::string_view text) { return text.find("\"age_as_of\"") != std::string_view::npos; }

Result<std::vector<Unit>> parse_units_at(UtcTime now, std::string_view text, const FuelTable& fuels, const std::string& name) {
  return read_units(now, text, fuels, name);
}

std::vector<std::pair<std::string, json::value>> take_prescriptions(json::object& feature) {
  std::vector<std::pair<std::string, json::value>> taken;
  json::value* found = feature.if_contains("properties");
  json::object* properties = found ? found->if_object() : nullptr;
  if (!properties) return taken;
  if (const json::value* main = properties->if_contains("prescription"); main && !main->is_null())
    taken.emplace_back("main", *main);
  if (const json::value* others = properties->if_contains("prescriptions"); others && others->is_object())
    for (const auto& other : others->get_object())
      if (!other.value().is_null()) taken.emplace_back(other.key(), other.value());
  properties->erase("prescription");
  properties->erase("prescriptions");
  return taken;
}

}  // namespace hakea::service
