#include "service/http/filters.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "core/base/words.h"
#include "service/http/entries.h"

namespace hakea::service {
namespace {

std::optional<double> degrees(std::string_view text, double most) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value) || std::abs(value) > most)
    return std::nullopt;
  return value;
}

}  // namespace

bool Box::meets(const Geometry& geometry) const {
  // By the bounds of each polygon: a unit that reaches around a corner may be listed though it lies just outside.
  const auto overlaps = [&](double from_lon, double from_lat, double to_lon, double to_lat) {
    if (to_lat < south || from_lat > north) return false;
    return west <= east ? to_lon >= west && from_lon <= east : to_lon >= west || from_lon <= east;
  };
  if (geometry.type == "Point")
    return overlaps(geometry.point.longitude_deg, geometry.point.latitude_deg, geometry.point.longitude_deg,
                    geometry.point.latitude_deg);
  return std::any_of(geometry.polygons.begin(), geometry.polygons.end(), [&](const std::vector<Ring>& polygon) {
    if (polygon.empty() || polygon.front().empty()) return false;
    const Ring& ring = polygon.front();
    const auto [west_most, east_most] = std::minmax_element(
        ring.begin(), ring.end(), [](const Position& a, const Position& b) { return a.longitude_deg < b.longitude_deg; });
    const auto [south_most, north_most] = std::minmax_element(
        ring.begin(), ring.end(), [](const Position& a, const Position& b) { return a.latitude_deg < b.latitude_deg; });
    return overlaps(west_most->longitude_deg, south_most->latitude_deg, east_most->longitude_deg, north_most->latitude_deg);
  });
}

std::optional<Box> query_box(const Call& call, Errors& mistakes) {
  const auto text = call.query("bbox");
  if (!text) return std::nullopt;
  const auto parts = words(*text, ',');
  if (parts.size() == 4) {
    const auto west = degrees(parts[0], 180), south = degrees(parts[1], 90), east = degrees(parts[2], 180),
               north = degrees(parts[3], 90);
    if (west && south && east && north && *south <= *north) return Box{*west, *south, *east, *north};
  }
  mistakes.push_back({ErrorKind::invalid, "not_a_box", "?bbox", fmt::format("\"{}\" is no box", *text),
                      "write west,south,east,north in degrees, such as 152.1,-37.9,152.9,-37.1"});
  return std::nullopt;
}

EntryFilter::EntryFilter(const Call& call, Errors& mistakes)
    : call_(call), district_(call.query("district")), since_(query_instant(call, "updated_since", mistakes)) {}

bool EntryFilter::takes(const Entry& entry, const json::value& body) const {
  return (!since_ || entry.at >= *since_) && (!district_ || is_of_district(*call_.picture, body, *district_));
}

bool is_of_district(const Snapshot& picture, const json::value& body, std::string_view district) {
  const auto* object = body.if_object();
  const json::value* scope = object ? object->if_contains("scope") : nullptr;
  const json::value& about = scope ? *scope : body;
  if (const std::string named = text_member(about, "district"); !named.empty()) return named == district;
  if (const std::string airshed = text_member(about, "airshed"); !airshed.empty()) {
    const auto found = picture.districts.find(district);
    if (found == picture.districts.end()) return false;
    const std::vector<std::string> ids = airsheds_of(found->second);
    return std::find(ids.begin(), ids.end(), airshed) != ids.end();
  }
  const UnitView* view = unit_or_retired(picture, text_member(about, "unit"));
  return view && view->unit.district == district;
}

}  // namespace hakea::service
