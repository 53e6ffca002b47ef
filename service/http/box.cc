#include "service/http/box.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "core/base/words.h"

namespace hakea::service {
namespace {

constexpr double kHalfTurn = 180, kPole = 90;

// Whether the way from a to b meets the box: it is cut at each side in turn (Liang and Barsky 1984).
bool crosses(const Box& box, Position a, Position b) {
  double enters = 0, leaves = 1;
  const double dx = b.longitude_deg - a.longitude_deg, dy = b.latitude_deg - a.latitude_deg;
  const std::array<std::pair<double, double>, 4> sides{{{-dx, a.longitude_deg - box.west},
                                                        {dx, box.east - a.longitude_deg},
                                                        {-dy, a.latitude_deg - box.south},
                                                        {dy, box.north - a.latitude_deg}}};
  for (const auto& [towards, distance] : sides) {
    if (towards == 0) {
      if (distance < 0) return false;
      continue;
    }
    const double share = distance / towards;
    if (towards < 0)
      enters = std::max(enters, share);
    else
      leaves = std::min(leaves, share);
  }
  return enters <= leaves;
}

// Counts the edges that a line from p to the east meets.
bool is_inside(const Ring& ring, Position p) {
  bool inside = false;
  for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++) {
    const Position &a = ring[i], &b = ring[j];
    if ((a.latitude_deg > p.latitude_deg) == (b.latitude_deg > p.latitude_deg)) continue;
    const double share = (p.latitude_deg - a.latitude_deg) / (b.latitude_deg - a.latitude_deg);
    if (p.longitude_deg < a.longitude_deg + share * (b.longitude_deg - a.longitude_deg)) inside = !inside;
  }
  return inside;
}

// A box that does not cross 180°: an edge meets it, or it lies wholly inside the outer ring and in none of the holes.
bool touches_plain(const Box& box, const Geometry& geometry) {
  if (geometry.type == "Point") return box.has(geometry.point);
  const Position corner{box.west, box.south};
  for (const std::vector<Ring>& polygon : geometry.polygons) {
    for (const Ring& ring : polygon)
      for (std::size_t i = 1; i < ring.size(); ++i)
        if (crosses(box, ring[i - 1], ring[i])) return true;
    const auto holds = [&](const Ring& ring) { return !ring.empty() && is_inside(ring, corner); };
    if (!polygon.empty() && holds(polygon.front()) && std::none_of(polygon.begin() + 1, polygon.end(), holds)) return true;
  }
  return false;
}

}  // namespace

std::optional<double> finite_number(std::string_view text) {
  double number = 0;
  const auto [end, failed] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (failed != std::errc() || end != text.data() + text.size() || !std::isfinite(number)) return std::nullopt;
  return number;
}

bool is_on_globe(Position p) { return std::abs(p.longitude_deg) <= kHalfTurn && std::abs(p.latitude_deg) <= kPole; }

bool Box::has(Position p) const {
  const bool is_between =
      west <= east ? p.longitude_deg >= west && p.longitude_deg <= east : p.longitude_deg >= west || p.longitude_deg <= east;
  return is_between && p.latitude_deg >= south && p.latitude_deg <= north;
}

bool Box::touches(const Geometry& geometry) const {
  if (west <= east) return touches_plain(*this, geometry);
  return touches_plain({west, south, kHalfTurn, north}, geometry) || touches_plain({-kHalfTurn, south, east, north}, geometry);
}

std::optional<Box> query_box(const Call& call, Errors& mistakes) {
  const auto text = call.query("bbox");
  if (!text) return std::nullopt;
  std::vector<double> numbers;
  std::string_view rest = *text;
  for (bool goes_on = true; goes_on;) {
    const std::size_t comma = rest.find(',');
    goes_on = comma != std::string_view::npos;
    const auto number = finite_number(trimmed(rest.substr(0, comma), " "));
    if (!number) {
      numbers.clear();
      break;
    }
    numbers.push_back(*number);
    if (goes_on) rest.remove_prefix(comma + 1);
  }
  // With heights there are six; everything lies on the ground here, so they say nothing.
  if (numbers.size() == 6) numbers = {numbers[0], numbers[1], numbers[3], numbers[4]};
  constexpr std::string_view kHint = "write west,south,east,north in degrees, such as 152.5,-37.8,152.7,-37.6";
  if (numbers.size() != 4) {
    mistakes.push_back({ErrorKind::invalid, "not_a_box", "?bbox", fmt::format("\"{}\" is no box of four or six numbers", *text),
                        std::string(kHint)});
    return std::nullopt;
  }
  const Box box{numbers[0], numbers[1], numbers[2], numbers[3]};
  if (!is_on_globe({box.west, box.south}) || !is_on_globe({box.east, box.north}) || box.south > box.north) {
    mistakes.push_back(
        {ErrorKind::invalid, "out_of_range", "?bbox", fmt::format("\"{}\" is no box on the globe", *text), std::string(kHint)});
    return std::nullopt;
  }
  return box;
}

}  // namespace hakea::service
