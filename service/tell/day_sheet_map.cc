// The map of the unit day sheet: the unit and the places that mind its smoke, where the wind may come from, where the smoke
// goes in the window, and what the district's own map knows of the surroundings. In tenths of a millimetre.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "core/air/smoke.h"
#include "service/input/json.h"
#include "service/output/html.h"
#include "service/tell/day_sheet_parts.h"

namespace hakea::service {
namespace {

constexpr double kWidth = 620, kHeight = 440, kMargin = 70;
constexpr double kKilometresPerDegree = 111.19;  // of a great circle of the mean sphere, 6371 km
constexpr double kWidestKm = 60, kNarrowestKm = 4;

struct Xy {
  double x = 0, y = 0;
};

Xy towards(Xy from, double bearing_deg, double length) {
  const double radians = bearing_deg * std::numbers::pi / 180;
  return {from.x + length * std::sin(radians), from.y - length * std::cos(radians)};
}

std::string at(Xy p) { return fmt::format("{:.0f} {:.0f}", p.x, p.y); }

// From longitude and latitude to the sheet.
class Frame {
 public:
  explicit Frame(const std::vector<Position>& shown) {
    double west = 180, east = -180, south = 90, north = -90;
    for (const Position& p : shown) {
      west = std::min(west, p.longitude_deg), east = std::max(east, p.longitude_deg);
      south = std::min(south, p.latitude_deg), north = std::max(north, p.latitude_deg);
    }
    middle_ = {(west + east) / 2, (south + north) / 2};
    shrink_ = std::cos(middle_.latitude_deg * std::numbers::pi / 180);
    const double width_km = (east - west) * shrink_ * kKilometresPerDegree, height_km = (north - south) * kKilometresPerDegree;
    const double needed_km = std::max(width_km / (kWidth - 2 * kMargin), height_km / (kHeight - 2 * kMargin)) * kWidth;
    width_km_ = std::clamp(needed_km, kNarrowestKm, kWidestKm);
  }
  Xy operator()(Position p) const {
    const double scale = kWidth / width_km_ * kKilometresPerDegree;
    return {kWidth / 2 + (p.longitude_deg - middle_.longitude_deg) * shrink_ * scale,
            kHeight / 2 - (p.latitude_deg - middle_.latitude_deg) * scale};
  }
  double length(double km) const { return km * kWidth / width_km_; }
  double width_km() const { return width_km_; }

 private:
  Position middle_;
  double shrink_ = 1, width_km_ = kNarrowestKm;
};

std::string polygons_path(const Geometry& geometry, const Frame& frame) {
  std::string path;
  for (const auto& polygon : geometry.polygons)
    for (const Ring& ring : polygon) {
      for (std::size_t i = 0; i < ring.size(); ++i) path += (i == 0 ? "M" : "L") + at(frame(ring[i]));
      path += "Z";
    }
  return path;
}

// The lines of the district's map, each by its kind.
std::string surroundings(const SheetDay& day, const Frame& frame) {
  const auto district = day.snapshot.districts.find(day.view.unit.district);
  if (district == day.snapshot.districts.end()) return "";
  const auto document = parse_json(district->second.json, "district");
  json::error_code failed;
  const json::value* features = document ? document->find_pointer("/map/features", failed) : nullptr;
  std::string drawn;
  if (!features || !features->is_array()) return drawn;
  for (const json::value& feature : features->get_array()) {
    const json::value* line = feature.find_pointer("/geometry/coordinates", failed);
    const json::value* kind = feature.find_pointer("/properties/kind", failed);
    if (!line || !line->is_array()) continue;
    std::string path;
    Errors mistakes;
    for (const json::value& place : line->get_array())
      if (const auto position = read_position(place, "", mistakes)) path += (path.empty() ? "M" : "L") + at(frame(*position));
    if (path.empty()) continue;
    const std::string_view word = kind && kind->is_string() ? std::string_view(kind->get_string()) : std::string_view();
    const auto draw = [&](std::string_view look) { drawn += fmt::format(R"(<path d="{}" fill="none" {}/>)", path, look); };
    if (word == "coast")
      draw(R"(stroke="#000" stroke-width="4")");
    else if (word == "river" || word == "water")
      draw(R"(stroke="#000" stroke-width="2" stroke-dasharray="9 5")");
    else if (word == "road")
      draw(R"(stroke="#000" stroke-width="6")"), draw(R"(stroke="#fff" stroke-width="3.5")");
    else
      draw(R"(stroke="#000" stroke-width="2" stroke-dasharray="2 6")");
  }
  return drawn;
}

// Where the smoke goes in the window, as wide as the drift sectors of its hours.
std::string smoke(const SheetDay& day, Xy from) {
  std::vector<double> sides;
  for (int hour = day.begin; hour < day.end; ++hour) {
    const double bearing = day.at("smoke_bearing", hour), stability = day.at("stability_class", hour);
    if (std::isnan(bearing) || std::isnan(stability)) continue;
    const double half = core::drift_half_width(static_cast<int>(stability)).value();
    sides.insert(sides.end(), {bearing, bearing - half, bearing, bearing + half, bearing});
  }
  const auto arc = arc_of(sides);
  if (!arc || arc->span_deg >= 300) return "";
  std::string path = "M" + at(from);
  const int steps = std::max(2, static_cast<int>(arc->span_deg / 10));
  for (int i = 0; i <= steps; ++i) path += "L" + at(towards(from, arc->from_deg + arc->span_deg * i / steps, 2 * kWidth));
  return fmt::format(R"(<path d="{}Z" fill="#ddd" stroke="#777" stroke-width="1.5" stroke-dasharray="3 4"/>)", path);
}

// A bold arc on the side that the wind may come from.
std::string sector_arc(Xy from, double radius, const core::Sector& sector) {
  const double span = std::fmod(sector.to - sector.from + 360, 360);
  const std::string ends = fmt::format("M{}A{r:.0f} {r:.0f} 0 {} 1 {}", at(towards(from, sector.from, radius)),
                                       span > 180 ? 1 : 0, at(towards(from, sector.to, radius)), fmt::arg("r", radius));
  std::string drawn = fmt::format(R"(<path d="{}" fill="none" stroke="#000" stroke-width="8"/>)", ends);
  for (const double side : {sector.from, sector.to})
    drawn += fmt::format(R"(<path d="M{}L{}" stroke="#000" stroke-width="2"/>)", at(towards(from, side, radius - 16)),
                         at(towards(from, side, radius + 16)));
  return drawn;
}

std::string label(Xy where, std::string_view anchor, std::string_view text) {
  // A white edge keeps it legible over lines.
  return fmt::format(
      R"(<text x="{:.0f}" y="{:.0f}" font-size="22" text-anchor="{}" stroke="#fff" stroke-width="5" paint-order="stroke">{}</text>)",
      where.x, where.y, anchor, html(text));
}

std::string places(const Unit& unit, const Frame& frame) {
  std::string drawn;
  std::vector<Xy> labels;
  for (const Receptor& receptor : unit.receptors) {
    const Xy p = frame(receptor.position);
    if (p.x < 0 || p.x > kWidth || p.y < 0 || p.y > kHeight) continue;
    drawn += fmt::format(R"(<rect x="{:.0f}" y="{:.0f}" width="14" height="14" fill="#000" stroke="#fff" stroke-width="2"/>)",
                         p.x - 7, p.y - 7);
    const bool is_at_left = p.x > kWidth / 2;
    Xy beside{p.x + (is_at_left ? -14 : 14), std::clamp(p.y + 7, 24.0, kHeight - 12)};
    for (int tries = 0; tries < 4; ++tries)
      if (std::any_of(labels.begin(), labels.end(), [&](Xy other) { return std::abs(other.y - beside.y) < 24; }))
        beside.y += beside.y + 24 < kHeight - 10 ? 24 : -48;
    labels.push_back(beside);
    drawn += label(beside, is_at_left ? "end" : "start", receptor.name);
  }
  return drawn;
}

std::string scale_bar(const Frame& frame) {
  double km = 1;
  for (const double longer : {2.0, 5.0, 10.0})
    if (longer < frame.width_km() / 3) km = longer;
  const double length = frame.length(km);
  return fmt::format(R"(<path d="M16 {y:.0f}v-8M16 {y:.0f}h{:.0f}v-8" fill="none" stroke="#000" stroke-width="3"/>)", length,
                     fmt::arg("y", kHeight - 16)) +
         label({24 + length, kHeight - 12}, "start", fmt::format("{:.0f} km", km)) +
         R"(<path d="M590 50V18M582 30L590 14L598 30" fill="none" stroke="#000" stroke-width="3"/>)" +
         label({590, 76}, "middle", "N");
}

}  // namespace

void add_map(const SheetDay& day, DaySheet& sheet) {
  const Unit& unit = day.view.unit;
  const Position middle = unit.geometry.centroid();
  std::vector<Position> shown{middle};
  for (const auto& polygon : unit.geometry.polygons)
    for (const Ring& ring : polygon) shown.insert(shown.end(), ring.begin(), ring.end());
  for (const Receptor& receptor : unit.receptors) shown.push_back(receptor.position);
  const Frame frame(shown);
  const Xy centre = frame(middle);
  double radius = 60;
  for (const auto& polygon : unit.geometry.polygons)
    for (const Ring& ring : polygon)
      for (const Position& p : ring) {
        const Xy corner = frame(p);
        radius = std::max(radius, std::hypot(corner.x - centre.x, corner.y - centre.y) + 18);
      }
  const std::string drift = smoke(day, centre);
  std::string drawn = drift + surroundings(day, frame);
  drawn += fmt::format(R"(<path d="{}" fill="#999" fill-rule="evenodd" stroke="#000" stroke-width="3"/>)",
                       polygons_path(unit.geometry, frame));
  bool has_sectors = false;
  for (const core::Limit& limit : unit.prescription.limits) {
    if (limit.sectors.empty() || limit.kind == core::Kind::preference) continue;
    has_sectors = true;
    for (const core::Sector& permitted : limit.sectors)
      drawn += sector_arc(centre, std::min(radius, kHeight / 2 - 20), permitted);
    break;
  }
  drawn += places(unit, frame) + scale_bar(frame);
  sheet.map = fmt::format(R"(<svg viewBox="0 0 {:.0f} {:.0f}" role="img" aria-label="{}">{}</svg>)", kWidth, kHeight,
                          html(fmt::format("Map of {} with {} smoke-sensitive places", unit.name, unit.receptors.size())), drawn);
  if (has_sectors) sheet.map_key.emplace_back("bold arc: the wind must come from here");
  sheet.map_key.emplace_back(drift.empty() ? "drift of the smoke not known or to all sides"
                                           : "light grey: drift of the smoke in these hours");
  if (!unit.receptors.empty()) sheet.map_key.emplace_back("■ place that minds smoke");
}

}  // namespace hakea::service
