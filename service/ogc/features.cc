// OGC API - Features, Part 1: the burn units as features, with the state of their best day in the properties, flat, so that a
// map can be coloured by it. Read only.
#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "core/catalogue/catalogue.h"
#include "service/http/standing.h"
#include "service/http/target.h"
#include "service/ogc/asked.h"
#include "service/ogc/collections.h"
#include "service/ogc/coverage.h"
#include "service/ogc/handlers.h"
#include "service/ogc/links.h"
#include "service/output/cautions.h"
#include "service/output/json_text.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::string_view kUnits = "units", kPath = "/features/collections/units",
                           kFeatureClasses =
                               "http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/core "
                               "http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/oas30 "
                               "http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/geojson";
constexpr int kItems = 100, kItemsAtMost = 1000;

// Twice the signed area, in square degrees: positive where the ring runs against the clock.
double turn_of(const Ring& ring) {
  double sum = 0;
  for (std::size_t i = 1; i < ring.size(); ++i)
    sum += ring[i - 1].longitude_deg * ring[i].latitude_deg - ring[i].longitude_deg * ring[i - 1].latitude_deg;
  return sum;
}

void write_position(JsonWriter& out, Position p) {
  out.begin_list().raw(degrees_text(p.longitude_deg)).raw(degrees_text(p.latitude_deg)).end_list();
}

// RFC 7946 §3.1.6: outer rings against the clock, holes with it, however people drew them.
void write_polygon(JsonWriter& out, const std::vector<Ring>& polygon) {
  out.begin_list();
  for (std::size_t r = 0; r < polygon.size(); ++r) {
    Ring ring = polygon[r];
    if ((turn_of(ring) > 0) != (r == 0)) std::reverse(ring.begin(), ring.end());
    out.begin_list();
    for (const Position p : ring) write_position(out, p);
    out.end_list();
  }
  out.end_list();
}

void write_geometry(JsonWriter& out, const Geometry& geometry) {
  out.key("geometry").begin_object().text("type", geometry.type).key("coordinates");
  if (geometry.type == "Point") {
    write_position(out, geometry.point);
  } else if (geometry.type == "Polygon") {
    write_polygon(out, geometry.polygons.front());
  } else {
    out.begin_list();
    for (const std::vector<Ring>& polygon : geometry.polygons) write_polygon(out, polygon);
    out.end_list();
  }
  out.end_object();
}

// The best of the days that touch the time asked about; null without any.
const core::Day* best_day(const UnitView& view, const TimeSpan& span) {
  const TimeZone& zone = view.unit.traits.zone;
  const auto found = std::find_if(view.days.begin(), view.days.end(), [&](const core::Day& day) {
    return span.touches(zone.day_begin(day.date), zone.day_begin(day.date + std::chrono::days(1)));
  });
  return found == view.days.end() ? nullptr : &*found;
}

// A unit without a day is unknown: missing is never a pass, and never nothing.
void write_state(JsonWriter& out, const UnitView& view, const core::Day* day) {
  const TimeZone& zone = view.unit.traits.zone;
  const core::Window* window = day ? core::best_window(*day) : nullptr;
  out.text("verdict", core::word(day ? day->verdict : core::Verdict::unknown));
  out.text_or_null("date", day ? date_text(day->date) : "");
  if (day && day->fit)
    out.number("fit", *day->fit);
  else
    out.null("fit");
  out.text_or_null("confidence", day ? core::word(day->confidence) : "");
  out.text_or_null("window_start", window ? local_text(window->start.start(), zone) : "");
  out.text_or_null("window_end", window ? local_text(window->end.start(), zone) : "");
  if (window)
    out.yes_or_no("window_unconfirmed", window->unconfirmed);
  else
    out.null("window_unconfirmed");
  const bool is_limited = day && day->limiting && day->limiting->limit < view.unit.prescription.limits.size();
  out.text_or_null("limiting",
                   is_limited ? core::catalogue()[view.unit.prescription.limits[day->limiting->limit].quantity].key : "");
  out.text_or_null("blocked_by", day && !day->blocked_by.empty() ? day->blocked_by.front().kind : "");
  if (day)
    out.yes_or_no("draft", day->draft);
  else
    out.null("draft");
  out.text("why", day ? day->why : "There is no forecast of it yet.");
  out.text_or_null("run", view.run ? view.run->id : "");
  out.text("freshness", word(view.freshness)).text("caution", kGuidance);
}

std::string item_path(const UnitView& view) { return fmt::format("{}/items/{}", kPath, encoded(view.unit.id)); }

// A Feature without its end, so that a single one can carry more members.
void write_feature(JsonWriter& out, const UnitView& view, const core::Day* day) {
  const Unit& unit = view.unit;
  out.begin_object().text("type", "Feature").text("id", unit.id);
  write_geometry(out, unit.geometry);
  out.key("properties").begin_object().text("name", unit.name).text("district", unit.district).text("status", unit.status);
  out.whole("priority", unit.priority);
  if (unit.area_ha)
    out.number("area_ha", *unit.area_ha);
  else
    out.null("area_ha");
  out.text("time_zone", unit.traits.zone.name());
  write_state(out, view, day);
  out.end_object();
}

void write_units_collection(JsonWriter& out, const Call& call) {
  std::vector<const UnitView*> units;
  std::optional<UtcTime> first, last;
  for (const auto& [id, view] : call.picture->units) {
    if (!call.may_see(view->unit.district)) continue;
    units.push_back(view.get());
    for (const core::Day& day : view->days) {
      const UtcTime begin = view->unit.traits.zone.day_begin(day.date),
                    end = view->unit.traits.zone.day_begin(day.date + std::chrono::days(1));
      first = first ? std::min(*first, begin) : begin;
      last = last ? std::max(*last, end) : end;
    }
  }
  out.begin_object().text("id", kUnits).text("title", "Burn units").text("itemType", "feature");
  out.text("description",
           fmt::format("The outlines of burn units with the state of their best day, or of the best one within datetime. {}",
                       kGuidance));
  out.key("links").begin_list();
  write_link(out, "self", ogc_url(call, kPath), "application/json");
  write_link(out, "items", ogc_url(call, fmt::format("{}/items", kPath)), "application/geo+json", "The units");
  out.end_list();
  write_extent(out, bounds_of(units), first, last);
  out.key("crs").begin_list().text(kCrs84).end_list().end_object();
}

bool is_units(const Call& call) { return call.ids.front() == kUnits; }

// As many as asked for; more than the most is the most, as the standard wants it.
int limit_of(const Call& call, Errors& mistakes) {
  const auto limit = query_number(call, "limit", std::numeric_limits<int>::max(), mistakes);
  return std::min(limit.value_or(kItems), kItemsAtMost);
}

// The same call with another cursor.
std::string next_page(const Call& call, std::string_view cursor) {
  std::string query = call.type == "application/json" ? "f=json&" : "";
  for (const auto& [name, value] : call.request.query)
    if (name != "cursor") query += fmt::format("{}={}&", encoded(name), encoded(value));
  return ogc_url(call, fmt::format("{}/items?{}cursor={}", kPath, query, encoded(cursor)));
}

}  // namespace

Response features_landing(const Call& call) {
  return landing_page(call, "/features", "Hakea: burn units", "The outlines of burn units with the state of their best day.");
}
Response features_conformance(const Call& call) { return conformance(call, kFeatureClasses); }

Response features_collections(const Call& call) {
  JsonWriter out;
  out.begin_object().key("links").begin_list();
  write_link(out, "self", ogc_url(call, "/features/collections"), "application/json");
  out.end_list().key("collections").begin_list();
  write_units_collection(out, call);
  return call.json(out.end_list().end_object().str());
}

Response features_collection(const Call& call) {
  if (!is_units(call)) return call.not_found("collection", call.ids.front());
  JsonWriter out;
  write_units_collection(out, call);
  return call.json(out.str());
}

Response features_items(const Call& call) {
  if (!is_units(call)) return call.not_found("collection", call.ids.front());
  Errors mistakes;
  const int limit = limit_of(call, mistakes);
  const TimeSpan span = query_time_span(call, mistakes);
  const auto box = query_box(call, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto after = call.query("cursor"), district = call.query("district");
  const auto& units = call.picture->units;
  std::vector<const UnitView*> listed;
  bool has_more = false;
  JsonWriter out;
  out.begin_object().text("type", "FeatureCollection").key("features").begin_list();
  for (auto unit = after ? units.upper_bound(*after) : units.begin(); unit != units.end() && !has_more; ++unit) {
    const UnitView& view = *unit->second;
    if (!call.may_see(view.unit.district) || (district && view.unit.district != *district)) continue;
    const core::Day* day = best_day(view, span);
    const bool is_asked_when = span.from || span.to;
    if ((is_asked_when && !day) || (box && !box->touches(view.unit.geometry))) continue;
    has_more = listed.size() == static_cast<std::size_t>(limit);
    if (has_more) break;
    listed.push_back(&view);
    write_feature(out, view, day);
    out.end_object();
  }
  out.end_list().whole("numberReturned", static_cast<long long>(listed.size())).text("timeStamp", utc_text(call.now));
  out.key("links").begin_list();
  write_link(out, "self", ogc_url(call, fmt::format("{}/items", kPath)), call.type);
  write_link(out, "collection", ogc_url(call, kPath), "application/json");
  if (has_more) write_link(out, "next", next_page(call, listed.back()->unit.id), call.type);
  out.end_list().end_object();
  return call.json(joined_objects(out.str(), standing_json(*call.picture, listed, call.now)));
}

Response features_item(const Call& call) {
  if (!is_units(call)) return call.not_found("collection", call.ids.front());
  const FoundUnit found = find_unit(call, call.ids.back());
  if (!found.view) return found.refused;
  JsonWriter out;
  write_feature(out, *found.view, best_day(*found.view, {}));
  out.key("links").begin_list();
  write_link(out, "self", ogc_url(call, item_path(*found.view)), call.type);
  write_link(out, "collection", ogc_url(call, kPath), "application/json");
  out.end_list().end_object();
  return call.json(joined_objects(out.str(), standing_json(*call.picture, {found.view}, call.now)));
}

}  // namespace hakea::service
