#include "service/ogc/asked.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/nearest.h"
#include "core/base/words.h"
#include "core/catalogue/catalogue.h"
#include "service/http/box.h"
#include "service/ogc/parameters.h"

namespace hakea::service {
namespace {

Error wrong(std::string_view parameter, std::string code, std::string what, std::string hint) {
  return {ErrorKind::invalid, std::move(code), fmt::format("?{}", parameter), std::move(what), std::move(hint)};
}

}  // namespace

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
  const auto longitude = parts.size() == 2 ? finite_number(parts[0]) : std::nullopt,
             latitude = parts.size() == 2 ? finite_number(parts[1]) : std::nullopt;
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
