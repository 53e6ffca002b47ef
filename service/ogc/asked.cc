#include "service/ogc/asked.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>

#include "core/base/nearest.h"
#include "core/base/words.h"
#include "core/catalogue/catalogue.h"
#include "service/ogc/parameters.h"

namespace hakea::service {
namespace {

constexpr double kHalfTurn = 180, kPole = 90;

Error wrong(std::string_view parameter, std::string code, std::string what, std::string hint) {
  return {ErrorKind::invalid, std::move(code), fmt::format("?{}", parameter), std::move(what), std::move(hint)};
}

std::optional<double> number_of(std::string_view text) {
  double number = 0;
  const auto [end, failed] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (failed != std::errc() || end != text.data() + text.size() || !std::isfinite(number)) return std::nullopt;
  return number;
}

bool is_on_globe(Position p) { return std::abs(p.longitude_deg) <= kHalfTurn && std::abs(p.latitude_deg) <= kPole; }

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

std::string_view trimmed(std::string_view text) {
  text.remove_prefix(std::min(text.find_first_not_of(' '), text.size()));
  return text.substr(0, text.find_last_not_of(' ') + 1);
}

}  // namespace

bool Box::has(Position p) const {
  const bool is_between =
      west <= east ? p.longitude_deg >= west && p.longitude_deg <= east : p.longitude_deg >= west || p.longitude_deg <= east;
  return is_between && p.latitude_deg >= south && p.latitude_deg <= north;
}

bool Box::touches(const Geometry& geometry) const {
  if (west <= east) return touches_plain(*this, geometry);
  return touches_plain({west, south, kHalfTurn, north}, geometry) || touches_plain({-kHalfTurn, south, east, north}, geometry);
}

TimeSpan query_time_span(const Call& call, Errors& mistakes) {
  TimeSpan span;
  const auto text = call.query("datetime");
  if (!text) return span;
  const auto end_of = [&](std::string_view part) -> std::optional<UtcTime> {
    if (part.empty() || part == "..") return std::nullopt;
    const auto instant = parse_instant(part);
    if (instant) return *instant;
    mistakes.push_back(wrong("datetime", instant.error().code, instant.error().what,
                             instant.error().hint + "; intervals as FROM/TO, open ones as FROM/.. or ../TO"));
    return std::nullopt;
  };
  const std::size_t slash = text->find('/');
  if (slash == std::string::npos) {
    if (*text == "..")
      mistakes.push_back(wrong("datetime", "not_a_time", "\"..\" alone is no time", "leave datetime out for all times"));
    span.from = span.to = end_of(*text);
    return span;
  }
  span.from = end_of(std::string_view(*text).substr(0, slash));
  span.to = end_of(std::string_view(*text).substr(slash + 1));
  if (span.from && span.to && *span.from > *span.to)
    mistakes.push_back(wrong("datetime", "reversed", "the interval ends before it begins", "put the earlier time first"));
  return span;
}

std::optional<Box> query_box(const Call& call, Errors& mistakes) {
  const auto text = call.query("bbox");
  if (!text) return Box();
  std::vector<double> numbers;
  std::string_view rest = *text;
  for (bool goes_on = true; goes_on;) {
    const std::size_t comma = rest.find(',');
    goes_on = comma != std::string_view::npos;
    const auto number = number_of(trimmed(rest.substr(0, comma)));
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
    mistakes.push_back(
        wrong("bbox", "not_a_box", fmt::format("\"{}\" is no box of four or six numbers", *text), std::string(kHint)));
    return std::nullopt;
  }
  const Box box{numbers[0], numbers[1], numbers[2], numbers[3]};
  if (!is_on_globe({box.west, box.south}) || !is_on_globe({box.east, box.north}) || box.south > box.north) {
    mistakes.push_back(wrong("bbox", "out_of_range", fmt::format("\"{}\" is no box on the globe", *text), std::string(kHint)));
    return std::nullopt;
  }
  return box;
}

std::optional<Position> query_point(const Call& call, Errors& mistakes) {
  constexpr std::string_view kHint = "write a point in well-known text, longitude first: POINT(152.61 -37.72)";
  const auto text = call.query("coords");
  if (!text) {
    mistakes.push_back(wrong("coords", "required", "coords is left out", std::string(kHint)));
    return std::nullopt;
  }
  std::string upper(trimmed(*text));
  for (char& c : upper)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  std::string_view rest = upper;
  std::vector<std::string_view> parts;
  if (rest.starts_with("POINT")) {
    rest = trimmed(rest.substr(5));
    if (rest.starts_with('(') && rest.ends_with(')')) parts = words(rest.substr(1, rest.size() - 2));
  }
  const auto longitude = parts.size() == 2 ? number_of(parts[0]) : std::nullopt,
             latitude = parts.size() == 2 ? number_of(parts[1]) : std::nullopt;
  if (!longitude || !latitude) {
    mistakes.push_back(wrong("coords", "not_a_point", fmt::format("\"{}\" is no point", *text), std::string(kHint)));
    return std::nullopt;
  }
  const Position point{*longitude, *latitude};
  if (is_on_globe(point)) return point;
  mistakes.push_back(wrong("coords", "out_of_range", fmt::format("\"{}\" is no place on the globe", *text),
                           "longitudes go from -180 to 180, latitudes from -90 to 90, longitude first"));
  return std::nullopt;
}

void check_crs(const Call& call, Errors& mistakes) {
  const auto crs = call.query("crs");
  if (!crs || *crs == kCrs84 || *crs == "CRS84" || *crs == "OGC:CRS84") return;
  mistakes.push_back(wrong("crs", "unknown_crs", fmt::format("there is nothing in \"{}\"", *crs),
                           fmt::format("leave crs out, or ask for {}: longitude and latitude of WGS 84", kCrs84)));
}

NamedQuantities query_quantities(const Call& call, const std::vector<std::size_t>& offered, bool has_fit, Errors& mistakes) {
  const std::vector<std::string> names = query_list(call, "parameter-name");
  if (names.empty()) return {offered, has_fit};
  NamedQuantities named;
  for (const std::string& name : names) {
    if (has_fit && name == kFitParameter) {
      named.fit = true;
      continue;
    }
    const auto q = core::find_quantity(name);
    if (q && std::find(offered.begin(), offered.end(), *q) != offered.end()) {
      if (std::find(named.quantities.begin(), named.quantities.end(), *q) == named.quantities.end())
        named.quantities.push_back(*q);
      continue;
    }
    std::vector<std::string_view> known;
    for (const std::size_t other : offered) known.push_back(core::catalogue()[other].key);
    const std::string_view near = nearest(name, known);
    mistakes.push_back(
        wrong("parameter-name", "unknown_quantity", fmt::format("there is no parameter \"{}\" here", name),
              near.empty() ? "the collection's parameter_names lists them" : fmt::format("did you mean \"{}\"?", near)));
  }
  return named;
}

}  // namespace hakea::service
