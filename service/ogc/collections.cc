#include "service/ogc/collections.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/catalogue/catalogue.h"
#include "service/engine/picture.h"
#include "service/engine/weather_record.h"
#include "service/http/target.h"
#include "service/input/config.h"
#include "service/ogc/coverage.h"
#include "service/ogc/links.h"
#include "service/ogc/parameters.h"
#include "service/output/cautions.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::string_view kGridPrefix = "grid-", kFormat = "CoverageJSON", kCoverageType = "application/prs.coverage+json",
                           kGeoJsonType = "application/geo+json",
                           kWkt =
                               "GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563]],"
                               "PRIMEM[\"Greenwich\",0],UNIT[\"degree\",0.0174532925199433]]";

std::optional<NamedRun> named_run(const Call& call, std::string_view id) {
  for (const FeedView& feed : call.picture->feeds)
    for (const RunRow& row : feed.runs)
      if (row.id == id && counts(row)) return NamedRun{&feed, &row};
  return std::nullopt;
}

const ingest::Feed* configured(const Call& call, std::string_view id) {
  if (call.parts.config)
    for (const ingest::Feed& feed : call.parts.config->feeds)
      if (feed.id == id) return &feed;
  return nullptr;
}

// The hours of units: all they have, or what one run says from its beginning on.
std::optional<Collection> unit_hours(const Call& call, std::optional<std::string_view> run) {
  Collection made;
  made.id = kUnitHours;
  made.title = "Hours of burn units";
  made.description =
      "Weather, fuel moisture, fire behaviour and smoke of every hour at each burn unit, and whether the hour is inside its "
      "prescription. " +
      std::string(kGuidance);
  if (run) {
    made.run = named_run(call, *run);
    if (!made.run) return std::nullopt;
    made.is_instance = true;
  }
  for (std::size_t q = 0; q < core::catalogue().size(); ++q) made.quantities.push_back(q);
  std::vector<const UnitView*> placed;
  for (const auto& [id, view] : call.picture->units) {
    if (!call.may_see(view->unit.district)) continue;
    if (!run) placed.push_back(view.get());
    if (!view->weather) continue;
    Located located{view.get(), {}, {}};
    if (run) {
      const auto& newest = view->weather->newest();
      const auto found = std::find_if(newest.begin(), newest.end(), [&](const UnitRunPtr& r) { return r->id == *run; });
      if (found == newest.end()) continue;
      located.first = (*found)->first(), located.end = (*found)->end();
      placed.push_back(view.get());
    } else {
      const ingest::RunHours span = view->weather->span(view->unit, std::nullopt);
      located.first = span.first, located.end = span.first + static_cast<int>(span.hours);
    }
    if (located.first >= located.end) continue;
    made.first = made.units.empty() ? located.first : std::min(made.first, located.first);
    made.end = made.units.empty() ? located.end : std::max(made.end, located.end);
    made.units.push_back(located);
  }
  if (run && made.units.empty()) return std::nullopt;
  made.box = bounds_of(placed);
  return made;
}

// A grid has to have a run: before that nothing is known of it, not even where it lies.
std::optional<Collection> grid_of(const FeedView& feed, const ingest::Feed& described, std::optional<std::string_view> run) {
  if (described.observed) return std::nullopt;
  for (const RunRow& row : feed.runs) {
    if (!counts(row) || (run ? row.id != *run : feed.newest_complete && row.id != feed.newest_complete->id)) continue;
    auto grid = grid_run(row);
    if (!grid || (run && !grid->has_files())) return std::nullopt;
    Collection made;
    made.id = std::string(kGridPrefix) + feed.id;
    made.run = NamedRun{&feed, &row};
    made.is_instance = run.has_value();
    made.title = fmt::format("Grid of the feed {}", feed.id);
    made.description = "Weather of every hour at any place of the grid, at the height of the model's own ground there.";
    made.quantities = grid->quantities;
    made.box = {grid->west, grid->south, grid->east, grid->north};
    made.first = grid->first, made.end = grid->end();
    made.grid = std::move(grid);
    return made;
  }
  return std::nullopt;
}

void write_query(JsonWriter& out, const Call& call, std::string_view type, const std::string& path, std::string_view media_type) {
  out.key(type).begin_object().key("link").begin_object();
  out.text("href", ogc_url(call, path)).text("rel", "data").text("type", media_type);
  out.text("title", fmt::format("Query by {}", type)).key("variables").begin_object();
  out.text("title", fmt::format("Query by {}", type)).text("query_type", type);
  if (type == "position") out.text("coords", "well-known text, longitude first: POINT(152.61 -37.72)");
  out.key("output_formats").begin_list().text(kFormat).end_list().text("default_output_format", kFormat);
  out.key("crs_details").begin_list().begin_object().text("crs", kCrs84).text("wkt", kWkt).end_object().end_list();
  out.end_object().end_object().end_object();
}

// As instants: "R24/…/PT1H" is no date-time, which the standard's own schema asks for.
std::vector<UtcTime> times_of(const Collection& collection) {
  std::vector<UtcTime> times;
  for (UtcHour hour = collection.first; hour < collection.end; hour = hour + 1) times.push_back(hour.start());
  return times;
}

}  // namespace

std::string Collection::path() const {
  std::string text = "/edr/collections/" + encoded(id);
  if (is_instance) text += "/instances/" + encoded(run->row->id);
  return text;
}

std::optional<Collection> find_collection(const Call& call, std::string_view id, std::optional<std::string_view> run) {
  if (id == kUnitHours) return unit_hours(call, run);
  if (!id.starts_with(kGridPrefix)) return std::nullopt;
  const std::string_view name = id.substr(kGridPrefix.size());
  for (const FeedView& feed : call.picture->feeds)
    if (const ingest::Feed* described = configured(call, feed.id); described && feed.id == name)
      return grid_of(feed, *described, run);
  return std::nullopt;
}

std::vector<Collection> all_collections(const Call& call) {
  std::vector<Collection> all;
  all.push_back(*unit_hours(call, std::nullopt));
  for (const FeedView& feed : call.picture->feeds)
    if (auto grid = find_collection(call, std::string(kGridPrefix) + feed.id)) all.push_back(*std::move(grid));
  return all;
}

std::vector<Collection> instances_of(const Call& call, const Collection& collection) {
  std::vector<Collection> instances;
  for (const FeedView& feed : call.picture->feeds) {
    if (collection.is_grid() && &feed != collection.run->feed) continue;
    for (const RunRow& row : feed.runs) {
      if (!counts(row)) continue;
      if (auto instance = find_collection(call, collection.id, row.id))
        instances.push_back(*std::move(instance));
      else if (collection.is_grid())
        break;  // files go in the order in which they came
    }
  }
  std::stable_sort(instances.begin(), instances.end(), [](const Collection& a, const Collection& b) {
    return a.run->row->reference_time > b.run->row->reference_time;
  });
  return instances;
}

Position place_of(const UnitView& view) {
  const core::Site& site = view.unit.points.front().site;
  return {site.longitude_deg, site.latitude_deg};
}

Box bounds_of(const std::vector<const UnitView*>& units) {
  Box box;
  bool is_first = true;
  const auto add = [&](Position p) {
    box.west = is_first ? p.longitude_deg : std::min(box.west, p.longitude_deg);
    box.east = is_first ? p.longitude_deg : std::max(box.east, p.longitude_deg);
    box.south = is_first ? p.latitude_deg : std::min(box.south, p.latitude_deg);
    box.north = is_first ? p.latitude_deg : std::max(box.north, p.latitude_deg);
    is_first = false;
  };
  for (const UnitView* view : units) {
    if (view->unit.geometry.type == "Point") add(view->unit.geometry.point);
    for (const std::vector<Ring>& polygon : view->unit.geometry.polygons)
      for (const Ring& ring : polygon)
        for (const Position p : ring) add(p);
  }
  return box;
}

void write_extent(JsonWriter& out, const Box& box, std::optional<UtcTime> first, std::optional<UtcTime> last,
                  const std::vector<UtcTime>& times) {
  out.key("extent").begin_object().key("spatial").begin_object().key("bbox").begin_list().begin_list();
  for (const double side : {box.west, box.south, box.east, box.north}) out.raw(degrees_text(side));
  out.end_list().end_list().text("crs", kCrs84).end_object();
  out.key("temporal").begin_object().key("interval").begin_list().begin_list();
  for (const auto& end : {first, last})
    if (end)
      out.text(utc_text(*end));
    else
      out.null();
  out.end_list().end_list();
  if (!times.empty()) {
    out.key("values").begin_list();
    for (const UtcTime t : times) out.text(utc_text(t));
    out.end_list();
  }
  out.text("trs", "http://www.opengis.net/def/uom/ISO-8601/0/Gregorian").end_object().end_object();
}

void write_collection(JsonWriter& out, const Call& call, const Collection& collection) {
  const std::string path = collection.path(), origin = origin_of(call);
  const std::string id = collection.is_instance ? collection.run->row->id : collection.id;
  const bool is_grid = collection.is_grid();
  const std::string data = path + (is_grid ? "/position" : "/locations");
  out.begin_object().text("id", id);
  out.text("title", collection.is_instance ? fmt::format("{}: run {}", collection.title, id) : collection.title);
  out.text("description", collection.description);
  out.key("links").begin_list();
  write_link(out, "self", ogc_url(call, path), "application/json");
  write_link(out, "collection", ogc_url(call, path), "application/json");
  write_link(out, "data", ogc_url(call, data), is_grid ? kCoverageType : kGeoJsonType);
  out.end_list();
  const std::vector<UtcTime> times = times_of(collection);
  const auto end_of = [&](UtcTime t) { return times.empty() ? std::nullopt : std::optional(t); };
  write_extent(out, collection.box, end_of(collection.first.start()), end_of((collection.end - 1).start()), times);
  out.key("crs").begin_list().text(kCrs84).end_list();
  out.key("output_formats").begin_list().text(kFormat).end_list();
  out.key("data_queries").begin_object();
  write_query(out, call, is_grid ? "position" : "locations", data, is_grid ? kCoverageType : kGeoJsonType);
  if (!collection.is_instance) write_query(out, call, "instances", path + "/instances", "application/json");
  out.end_object().key("parameter_names").begin_object();
  for (const std::size_t q : collection.quantities) write_parameter(out, core::catalogue()[q], Labels::plain, origin);
  if (!is_grid) write_fit_parameter(out, Labels::plain, origin);
  out.end_object().end_object();
}

}  // namespace hakea::service
