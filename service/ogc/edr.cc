// OGC API - Environmental Data Retrieval 1.1 (OGC 19-086r6) on what the service computes: API.md of the design says what is
// offered and what is not. Only instants that exist are answered: nothing is guessed from a neighbouring hour.
#include <fmt/format.h>

#include <algorithm>

#include "service/http/shown_hours.h"
#include "service/http/standing.h"
#include "service/http/target.h"
#include "service/input/config.h"
#include "service/ogc/collections.h"
#include "service/ogc/coverage.h"
#include "service/ogc/handlers.h"
#include "service/ogc/links.h"
#include "service/ogc/parameters.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

// The suite for 1.0 asks for the older names of the first two.
constexpr std::string_view kEdrClasses =
    "http://www.opengis.net/spec/ogcapi-common-1/1.0/conf/core http://www.opengis.net/spec/ogcapi-common-2/1.0/conf/collections "
    "http://www.opengis.net/spec/ogcapi-edr-1/1.0/conf/core http://www.opengis.net/spec/ogcapi-edr-1/1.0/conf/geojson "
    "http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/core http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/collections "
    "http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/json http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/geojson "
    "http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/covjson http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/queries "
    "http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/oas30";

// The first id of a route is a collection's, the second an instance's where the route has one.
struct Asked {
  std::optional<Collection> collection;
  Response refused;
};
Asked collection_asked_for(const Call& call, bool is_instance) {
  const std::string& id = call.ids.front();
  Asked asked;
  if (is_instance)
    asked.collection = find_collection(call, id, call.ids[1]);
  else
    asked.collection = find_collection(call, id);
  if (!asked.collection)
    asked.refused =
        is_instance && find_collection(call, id) ? call.not_found("instance", call.ids[1]) : call.not_found("collection", id);
  return asked;
}

Response no_content() { return {204, "", "", {}}; }

Response not_by(const Call& call, const Collection& collection, std::string_view query, std::string_view other) {
  return call.refuse({404,
                      "not_found",
                      "There is no such thing",
                      fmt::format("{} is not asked by {} but by {}", collection.id, query, other),
                      {}});
}

// What a unit's answers rest on: its newest run, or that of the instance.
std::string standing_of(const Call& call, const Collection& collection, const std::vector<const UnitView*>& units) {
  if (!collection.run) return standing_json(*call.picture, units, call.now);
  const DistrictView* district = nullptr;
  if (units.size() == 1)
    if (const auto found = call.picture->districts.find(units.front()->unit.district); found != call.picture->districts.end())
      district = &found->second;
  return standing_json(*call.picture, district, *collection.run->row, *collection.run->feed, call.now);
}

Response answer_locations(const Call& call, bool is_instance) {
  const Asked asked = collection_asked_for(call, is_instance);
  if (!asked.collection) return asked.refused;
  const Collection& collection = *asked.collection;
  if (collection.is_grid()) return not_by(call, collection, "locations", "position");
  Errors mistakes;
  const TimeSpan span = query_time_span(call, mistakes);
  const auto box = query_box(call, mistakes);
  check_crs(call, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  JsonWriter names;
  names.begin_list();
  for (const std::size_t q : collection.quantities) names.text(core::catalogue()[q].key);
  names.text(kFitParameter).end_list();
  std::vector<const UnitView*> listed;
  JsonWriter out;
  out.begin_object().text("type", "FeatureCollection").key("features").begin_list();
  for (const Located& located : collection.units) {
    const Position place = place_of(*located.view);
    if ((box && !box->has(place)) || !span.touches(located.first.start(), located.end.start())) continue;
    listed.push_back(located.view);
    out.begin_object().text("type", "Feature").text("id", located.view->unit.id);
    out.key("geometry").begin_object().text("type", "Point").key("coordinates").begin_list();
    out.raw(degrees_text(place.longitude_deg)).raw(degrees_text(place.latitude_deg)).end_list().end_object();
    out.key("properties").begin_object().text("label", located.view->unit.name);
    out.text("datetime", fmt::format("{}/{}", utc_text(located.first.start()), utc_text((located.end - 1).start())));
    out.key("parameter-name").raw(names.str());
    out.text("edrqueryendpoint", ogc_url(call, collection.path() + "/locations/" + encoded(located.view->unit.id)));
    out.end_object().end_object();
  }
  out.end_list().whole("numberReturned", static_cast<long long>(listed.size())).text("timeStamp", utc_text(call.now));
  out.key("links").begin_list();
  write_link(out, "self", ogc_url(call, collection.path() + "/locations"), "application/geo+json");
  write_link(out, "collection", ogc_url(call, collection.path()), "application/json");
  out.end_list().end_object();
  return call.json(joined_objects(out.str(), standing_of(call, collection, listed)));
}

Response answer_location(const Call& call, bool is_instance) {
  const Asked asked = collection_asked_for(call, is_instance);
  if (!asked.collection) return asked.refused;
  const Collection& collection = *asked.collection;
  if (collection.is_grid()) return not_by(call, collection, "locations", "position");
  const FoundUnit found = find_unit(call, call.ids.back());
  if (!found.view) return found.refused;
  Errors mistakes;
  const TimeSpan span = query_time_span(call, mistakes);
  check_crs(call, mistakes);
  const NamedQuantities named = query_quantities(call, collection.quantities, true, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto located = std::find_if(collection.units.begin(), collection.units.end(),
                                    [&](const Located& unit) { return unit.view == found.view; });
  if (located == collection.units.end() || !span.touches(located->first.start(), located->end.start())) return no_content();
  std::optional<std::string> run;
  if (is_instance) run = collection.run->row->id;
  const UtcTime begins = located->first.start();
  const auto shown =
      hours_to_show(*found.view, run, std::max(span.from.value_or(begins), begins), span.before(), call.now, named.quantities);
  if (!shown) return call.refuse({404, shown.error().code, "There is no such run here", shown.error().what, {}});
  if (shown->hours.hours == 0) return no_content();
  const Position place = place_of(*found.view);
  const Coverage coverage{.id = fmt::format("{}/{}", found.view->unit.id,
                                            run               ? *run
                                            : found.view->run ? found.view->run->id
                                                              : ""),
                          .longitude_deg = place.longitude_deg,
                          .latitude_deg = place.latitude_deg,
                          .hours = shown->hours,
                          .quantities = named.quantities,
                          .fit = named.fit ? &shown->fit : nullptr,
                          .sampling = found.view->sampling};
  return call.json(joined_objects(coverage_json(coverage, origin_of(call)), standing_of(call, collection, {found.view})));
}

Response answer_position(const Call& call, bool is_instance) {
  const Asked asked = collection_asked_for(call, is_instance);
  if (!asked.collection) return asked.refused;
  const Collection& collection = *asked.collection;
  if (!collection.is_grid()) return not_by(call, collection, "position", "locations");
  Errors mistakes;
  const auto place = query_point(call, mistakes);
  const TimeSpan span = query_time_span(call, mistakes);
  check_crs(call, mistakes);
  const NamedQuantities named = query_quantities(call, collection.quantities, false, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  if (!span.touches(collection.first.start(), collection.end.start())) return no_content();
  const FeedView& feed = *collection.run->feed;
  const RunRow& row = *collection.run->row;
  const ingest::Feed* const described = call.parts.config->feed(feed.id);
  const auto point = call.parts.grid_points->at(*described, row, place->latitude_deg, place->longitude_deg);
  if (!point) {
    const Error& error = point.error();
    if (error.kind == ErrorKind::not_found)
      return call.refuse({404, error.code, "The run's files are gone", error.what + "; " + error.hint, {}});
    Response answer = call.refuse({503,
                                   error.code == "too_slow" ? error.code : "run_unreadable",
                                   "The run could not be read at that place",
                                   error.what + "; " + error.hint,
                                   {}});
    answer.headers.emplace_back("Retry-After", "60");
    return answer;
  }
  if ((*point)->hours.hours == 0) return no_content();  // outside the grid
  const UtcTime from = std::max(span.from.value_or(collection.first.start()), collection.first.start());
  const core::UnitHours hours = hours_between((*point)->hours, from, span.before(), named.quantities);
  if (hours.hours == 0) return no_content();
  const std::vector<SamplingNote> sampling{{.feed = feed.id,
                                            .latitude_deg = (*point)->sampled_latitude,
                                            .longitude_deg = (*point)->sampled_longitude,
                                            .model_elevation = (*point)->model_elevation,
                                            .unit_elevation = Metres::missing()}};
  const Coverage coverage{.id = fmt::format("{},{}/{}", place->longitude_deg, place->latitude_deg, row.id),
                          .longitude_deg = place->longitude_deg,
                          .latitude_deg = place->latitude_deg,
                          .hours = hours,
                          .quantities = named.quantities,
                          .sampling = sampling};
  return call.json(joined_objects(coverage_json(coverage, origin_of(call)), standing_of(call, collection, {})));
}

// A list of collections or instances with a link to itself.
Response list_of(const Call& call, std::string_view name, const std::vector<Collection>& collections, const std::string& path) {
  JsonWriter out;
  out.begin_object().key("links").begin_list();
  write_link(out, "self", ogc_url(call, path), "application/json");
  out.end_list().key(name).begin_list();
  for (const Collection& collection : collections) write_collection(out, call, collection);
  return call.json(out.end_list().end_object().str());
}

Response answer_collection(const Call& call, bool is_instance) {
  const Asked asked = collection_asked_for(call, is_instance);
  if (!asked.collection) return asked.refused;
  JsonWriter out;
  write_collection(out, call, *asked.collection);
  return call.json(out.str());
}

}  // namespace

Response edr_landing(const Call& call) {
  return landing_page(
      call, "/edr", "Hakea: hours of burn units",
      "Hourly weather, fuel moisture, fire behaviour and smoke of burn units, and the weather of the feeds' grids.");
}
Response edr_conformance(const Call& call) { return conformance(call, kEdrClasses); }

Response edr_collections(const Call& call) { return list_of(call, "collections", all_collections(call), "/edr/collections"); }
Response edr_collection(const Call& call) { return answer_collection(call, false); }
Response edr_instances(const Call& call) {
  const Asked asked = collection_asked_for(call, false);
  if (!asked.collection) return asked.refused;
  return list_of(call, "instances", instances_of(call, *asked.collection), asked.collection->path() + "/instances");
}
Response edr_instance(const Call& call) { return answer_collection(call, true); }

Response edr_locations(const Call& call) { return answer_locations(call, false); }
Response edr_locations_of_run(const Call& call) { return answer_locations(call, true); }
Response edr_location(const Call& call) { return answer_location(call, false); }
Response edr_location_of_run(const Call& call) { return answer_location(call, true); }
Response edr_position(const Call& call) { return answer_position(call, false); }
Response edr_position_of_run(const Call& call) { return answer_position(call, true); }

}  // namespace hakea::service
