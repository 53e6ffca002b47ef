#include "service/input/spread_points.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

namespace hakea::service {
namespace {

constexpr double kKmPerDegree = 111.195;  // of latitude, on a sphere of 6371 km

// Every edge of every ring, from the point in units of degrees.
template <class Visit>
void edges(const Geometry& geometry, Position from, Visit&& visit) {
  for (const auto& polygon : geometry.polygons)
    for (const Ring& ring : polygon)
      for (std::size_t i = 0; i + 1 < ring.size(); ++i)
        visit(ring[i].longitude_deg - from.longitude_deg, ring[i].latitude_deg - from.latitude_deg,
              ring[i + 1].longitude_deg - from.longitude_deg, ring[i + 1].latitude_deg - from.latitude_deg);
}

// How far from a point along x (east) or y (north) each edge is crossed.
std::vector<double> crossings(const Geometry& geometry, Position from, bool along_x) {
  std::vector<double> found;
  edges(geometry, from, [&](double x0, double y0, double x1, double y1) {
    if (!along_x) std::swap(x0, y0), std::swap(x1, y1);
    if ((y0 > 0) != (y1 > 0)) found.push_back(x0 + (x1 - x0) * y0 / (y0 - y1));
  });
  return found;
}

// Not so while mistakes in it are still to be told.
bool is_drawn(const Geometry& geometry) {
  const auto is_closed = [](const Ring& ring) { return ring.size() >= 4; };
  return !geometry.polygons.empty() &&
         std::all_of(geometry.polygons.begin(), geometry.polygons.end(), [&](const std::vector<Ring>& polygon) {
           return !polygon.empty() && std::all_of(polygon.begin(), polygon.end(), is_closed);
         });
}

bool is_inside(const Geometry& geometry, Position point) {
  const std::vector<double> across = crossings(geometry, point, true);
  return std::count_if(across.begin(), across.end(), [](double x) { return x > 0; }) % 2 == 1;
}

}  // namespace

std::vector<Position> spread_positions(const Geometry& geometry) {
  std::vector<Position> spread;
  if (!is_drawn(geometry)) return spread;
  const Position centre = geometry.centroid();
  const std::vector<double> across = crossings(geometry, centre, true), along = crossings(geometry, centre, false);
  const auto add = [&](const std::vector<double>& at, bool along_x, int sign) {
    double furthest = 0;
    for (const double d : at) furthest = std::max(furthest, sign * d);
    Position position = centre;
    (along_x ? position.longitude_deg : position.latitude_deg) += sign * furthest / 2;
    if (furthest > 0 && is_inside(geometry, position)) spread.push_back(position);
  };
  add(along, false, 1);
  add(across, true, 1);
  add(along, false, -1);
  add(across, true, -1);
  return spread;
}

double area_ha(const Geometry& geometry) {
  if (!is_drawn(geometry)) return 0;
  const Position origin = geometry.polygons.front().front().front();
  double whole = 0;
  for (const auto& polygon : geometry.polygons)
    for (std::size_t r = 0; r < polygon.size(); ++r) {
      double twice = 0;
      for (std::size_t i = 0; i + 1 < polygon[r].size(); ++i)
        twice += (polygon[r][i].longitude_deg - origin.longitude_deg) * (polygon[r][i + 1].latitude_deg - origin.latitude_deg) -
                 (polygon[r][i + 1].longitude_deg - origin.longitude_deg) * (polygon[r][i].latitude_deg - origin.latitude_deg);
      whole += (r == 0 ? 1 : -1) * std::abs(twice) / 2;
    }
  const double parallel = std::cos(origin.latitude_deg * std::numbers::pi / 180);
  return whole * kKmPerDegree * kKmPerDegree * parallel * 100;
}

}  // namespace hakea::service
