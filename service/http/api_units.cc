// /units: GeoJSON Features. Prescriptions are entries of their own with their own revisions; a Feature may bring them along
// and is served with the current ones.
#include <fmt/format.h>

#include <algorithm>

#include "service/http/box.h"
#include "service/http/handlers.h"
#include "service/http/paging.h"
#include "service/http/standing.h"
#include "service/input/config.h"
#include "service/input/entry_words.h"
#include "service/output/json_text.h"

namespace hakea::service {
namespace {

std::string feature_json(const UnitView& view) {
  JsonWriter more;
  more.begin_object().whole("revision", view.revision).end_object();
  return joined_objects(view.feature_json, more.str());
}

Response feature_response(const Call& call, const Snapshot& picture, const UnitView& view, int status) {
  Response answer = answer_about(call, picture, {&view}, feature_json(view), status);
  answer.headers.emplace_back("ETag", etag(view.revision));
  if (status == 201) answer.headers.emplace_back("Location", fmt::format("{}/units/{}", kApiRoot, view.unit.id));
  return answer;
}

// RFC 7396.
void merge(json::value& target, const json::value& patch) {
  const auto* members = patch.if_object();
  if (!members) {
    target = patch;
    return;
  }
  if (!target.is_object()) target.emplace_object();
  json::object& object = target.get_object();
  for (const auto& member : *members) {
    if (member.value().is_null())
      object.erase(member.key());
    else
      merge(object[member.key()], member.value());
  }
}

// What a Feature of the interface must be beyond what the reader of units asks.
void check_feature(const Call& call, const Unit& unit, Errors& mistakes) {
  if (unit.geometry.type == "Point")
    mistakes.push_back({ErrorKind::invalid, "not_an_area", "/geometry/type", "a unit is an area, not a point",
                        "draw it as a Polygon or MultiPolygon"});
  if (!call.picture->districts.contains(unit.district)) {
    std::vector<std::string> known;
    for (const auto& [id, view] : call.picture->districts) known.push_back(id);
    mistakes.push_back(
        {ErrorKind::invalid, unit.district.empty() ? "required" : "unknown_district", "/properties/district",
         unit.district.empty() ? "the district is left out" : fmt::format("there is no district \"{}\"", unit.district),
         fmt::format("known are {}", fmt::join(known, ", "))});
  }
  for (const auto& [name, prescription] : unit.prescriptions)
    if (name != "edging")
      mistakes.push_back({ErrorKind::invalid, "unknown_word", pointer_to("/properties/prescriptions", std::string_view(name)),
                          fmt::format("a prescription named \"{}\" is not known", name), "the only other one is edging"});
}

// Takes the prescriptions out of a Feature; those that differ from what stands become changes.
std::vector<Change> prescriptions_of(const Call& call, const std::string& id, json::object& feature) {
  std::vector<Change> changes;
  for (const auto& [which, value] : take_prescriptions(feature)) {
    const std::string entry_id = fmt::format("{}/{}", id, which);
    const auto now = call.parts.store->entry(EntryKind::prescription, entry_id);
    const bool stands = now && *now && !(*now)->is_withdrawn;
    if (stands)
      if (const auto current = parse_json((*now)->body, entry_id); current && *current == value) continue;
    changes.push_back({EntryKind::prescription, entry_id, json_text(value), {}, stands ? "replace" : "create", ""});
  }
  return changes;
}

// Stores a Feature under an id (of the path; empty for a new one, which names itself).
Response store_feature(const Call& call, json::value feature, const std::string& path_id) {
  forget_served_members(feature);
  Errors mistakes;
  auto* object = feature.if_object();
  if (object && !path_id.empty()) {
    json::value& id = (*object)["id"];
    if (id.is_null()) id = path_id;
    if (!id.is_string() || id.get_string() != path_id)
      mistakes.push_back({ErrorKind::invalid, "different_id", "/id", fmt::format("the id {} is not that of the path", shown(id)),
                          fmt::format("write \"{}\", or leave it out", path_id)});
  }
  if (!object || !object->contains("type") || object->at("type") != "Feature")
    mistakes.push_back({ErrorKind::invalid, "wrong_kind", "/type", "this is no Feature", "send one GeoJSON Feature"});
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  const auto units = parse_units(json_text(feature), call.parts.config->fuels);
  if (!units) return call.refuse(mistakes_of_body(units.errors()));
  const Unit& unit = units->front();
  check_feature(call, unit, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  if (!call.may_see(unit.district)) return call.other_district();

  const auto stored = call.parts.store->entry(EntryKind::unit, unit.id);
  const Entry* entry = stored && *stored ? &**stored : nullptr;
  const bool stands = entry && !entry->is_withdrawn;
  if (path_id.empty() && entry)
    return call.refuse(
        {409,
         "exists",
         "It exists already",
         fmt::format("there is a unit \"{}\"{}", unit.id, stands ? "" : ", which is retired"),
         {{ErrorKind::invalid, "exists", "/id", "this id is taken", "choose another id, or PUT to change the unit"}}});
  if (stands)
    if (const UnitView* before = call.picture->unit(unit.id); before && !call.may_see(before->unit.district))
      return call.other_district();
  Expected expected = expected_revision(call, stands ? entry->revision : 0);
  if (expected.refused) return *expected.refused;
  if (entry && !stands) expected.revision = entry->revision;  // comes back

  std::vector<Change> changes = prescriptions_of(call, unit.id, *object);
  changes.insert(changes.begin(),
                 {EntryKind::unit, unit.id, json_text(feature), expected.revision, stands ? "replace" : "create", ""});
  const Written written = write(call, changes, std::set<std::string>{unit.id});
  if (written.refused) return *written.refused;
  const UnitView* view = written.picture->unit(unit.id);
  if (!view) return call.not_found("unit", unit.id);
  return feature_response(call, *written.picture, *view, stands ? 200 : 201);
}

}  // namespace

Response list_units(const Call& call) {
  Errors mistakes;
  const PageAsked page = page_asked(call, mistakes);
  const auto box = query_box(call, mistakes);
  const auto since = query_instant(call, "updated_since", mistakes);
  const auto district = call.query("district"), status = query_word(call, "status", unit_statuses(), mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  std::vector<const UnitView*> listed;
  std::string next;
  const auto& all = status && *status == "retired" ? call.picture->retired : call.picture->units;
  for (auto unit = page.after ? all.upper_bound(*page.after) : all.begin(); unit != all.end() && next.empty(); ++unit) {
    const UnitView& view = *unit->second;
    if (!call.may_see(view.unit.district) || (district && view.unit.district != *district)) continue;
    if (status && *status != "retired" && view.unit.status != *status) continue;
    if ((box && !box->touches(view.unit.geometry)) || (since && view.updated_at < *since)) continue;
    if (listed.size() == page.limit)
      next = next_page(call, listed.back()->unit.id);
    else
      listed.push_back(&view);
  }
  std::string features;
  for (const UnitView* view : listed) (features += features.empty() ? "" : ",") += feature_json(*view);
  JsonWriter out;
  out.begin_object().text("type", "FeatureCollection").key("features").raw("[" + features + "]");
  if (!next.empty())
    out.key("links")
        .begin_list()
        .begin_object()
        .text("rel", "next")
        .text("href", next)
        .text("type", call.type)
        .end_object()
        .end_list();
  out.end_object();
  Response answer = answer_about(call, listed, out.str());
  add_next_link(answer, next);
  return answer;
}

Response show_unit(const Call& call) {
  const std::string& id = call.ids.front();
  if (const auto retired = call.picture->retired.find(id); retired != call.picture->retired.end()) {
    if (!call.may_see(retired->second->unit.district)) return call.other_district();
    return feature_response(call, *call.picture, *retired->second, 200);
  }
  const FoundUnit found = find_unit(call, id);
  if (!found.view) return found.refused;
  return feature_response(call, *call.picture, *found.view, 200);
}

Response add_unit(const Call& call) {
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  return store_feature(call, *body, "");
}

Response put_unit(const Call& call) {
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  return store_feature(call, *body, call.ids.front());
}

Response patch_unit(const Call& call) {
  const FoundUnit found = find_unit(call, call.ids.front());
  if (!found.view) return found.refused;
  const auto patch = call.body();
  if (!patch) return call.refuse(mistakes_of_body(patch.errors()));
  if (!patch->is_object())
    return call.refuse(mistakes_of_body(
        {{ErrorKind::invalid, "wrong_kind", "", "the patch is no object", "send the members to change (RFC 7396)"}}));
  auto feature = parse_json(found.view->feature_json, "unit");
  if (!feature) return call.refuse(mistakes_of_body(feature.errors()));
  merge(*feature, *patch);
  return store_feature(call, *std::move(feature), call.ids.front());
}

Response retire_unit(const Call& call) {
  const FoundUnit found = find_unit(call, call.ids.front());
  if (!found.view) return found.refused;
  const Expected expected = expected_revision(call, found.view->revision);
  if (expected.refused) return *expected.refused;
  const std::string& id = call.ids.front();
  const Change change{EntryKind::unit, id, {}, expected.revision, "retire", call.query("reason").value_or("")};
  const Written written = write(call, {change}, std::set<std::string>{id});
  if (written.refused) return *written.refused;
  return {204, "", "", {}};
}

}  // namespace hakea::service
