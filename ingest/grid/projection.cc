#include "ingest/grid/projection.h"

#include <fmt/format.h>
#include <proj.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <sstream>

#include "core/base/numbers.h"

namespace hakea::ingest {
namespace {

// Parameters a proj4 text from a file may set; anything else in it (datum shifts, files, stray characters) is left out.
constexpr std::array<std::string_view, 25> kParameters{
    "proj", "o_proj", "lat_0", "lon_0", "lat_1", "lat_2", "lat_ts", "k",       "k_0",     "x_0",  "y_0",   "a",       "b",
    "R",    "rf",     "f",     "es",    "ellps", "datum", "units",  "o_lat_p", "o_lon_p", "zone", "south", "to_meter"};
constexpr std::array<std::string_view, 10> kProjections{"lcc", "stere",   "sterea",  "merc",    "tmerc",
                                                        "utm", "ob_tran", "longlat", "latlong", "eqc"};

std::string value_of(const std::string& definition, std::string_view key) {
  std::istringstream in(definition);
  for (std::string w; in >> w;)
    if (w.starts_with(fmt::format("+{}=", key))) return w.substr(key.size() + 2);
  return {};
}

std::string cleaned(const std::string& text) {
  std::string out;
  std::istringstream in(text);
  double a = 0;
  bool round = false;
  for (std::string word; in >> word;) {
    if (!word.starts_with('+')) continue;
    const auto equals = word.find('=');
    const std::string key = word.substr(1, equals == std::string::npos ? std::string::npos : equals - 1);
    const std::string value = equals == std::string::npos ? "" : word.substr(equals + 1);
    if (value.find_first_not_of("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.+-_") != std::string::npos)
      continue;
    if (key == "e" && std::strtod(value.c_str(), nullptr) == 0) round = true;
    if (std::find(kParameters.begin(), kParameters.end(), key) == kParameters.end()) continue;
    if (key == "a") a = std::strtod(value.c_str(), nullptr);
    out += (out.empty() ? "" : " ") + word.substr(0, equals) + (equals == std::string::npos ? "" : "=" + value);
  }
  if (round && a > 0) out += fmt::format(" +b={}", a);
  return out;
}

}  // namespace

struct Projection::Engine {
  PJ_CONTEXT* context = nullptr;
  PJ* operation = nullptr;
  Engine(const std::string& definition) : context(proj_context_create()) {
    proj_context_set_enable_network(context, 0);
    proj_log_level(context, PJ_LOG_NONE);
    operation = proj_create(context, definition.c_str());
  }
  Engine(const Engine&) = delete;
  Engine& operator=(const Engine&) = delete;
  ~Engine() {
    proj_destroy(operation);
    proj_context_destroy(context);
  }
};

Result<Projection> Projection::of_definition(const std::string& text) {
  const std::string definition = cleaned(text);
  const std::string name = value_of(definition, "proj");
  if (std::find(kProjections.begin(), kProjections.end(), name) == kProjections.end())
    return Error{ErrorKind::unsupported, "projection", "",
                 name.empty() ? "names no projection" : fmt::format("uses the projection \"{}\"", name),
                 "accepted: lambert_conformal_conic, rotated_latitude_longitude, polar_stereographic, stereographic, mercator, "
                 "transverse_mercator, latitude_longitude"};
  Projection p;
  p.definition_ = definition;
  p.engine_ = std::make_shared<const Engine>(definition);
  if (!p.engine_->operation)
    return Error{ErrorKind::invalid, "projection", "",
                 fmt::format("has projection parameters that cannot be used ({})", definition),
                 "check the grid mapping of the file"};
  // PROJ calls the result of an oblique transformation of longitude and latitude linear, yet gives radians.
  p.in_degrees_ = name == "ob_tran" || name == "longlat" || name == "latlong";
  p.kind_ = name == "lcc"                      ? "lambert_conformal_conic"
            : name == "ob_tran"                ? "rotated_latitude_longitude"
            : name == "merc"                   ? "mercator"
            : name == "tmerc" || name == "utm" ? "transverse_mercator"
            : name == "stere"                  ? "polar_stereographic"
            : name == "sterea"                 ? "oblique_stereographic"
            : name == "eqc"                    ? "equirectangular"
                                               : "latitude_longitude";
  return p;
}

Result<Projection> Projection::of(const Variable& m) {
  const std::string name = m.text("grid_mapping_name");
  if (name.empty()) {
    for (const char* attribute : {"proj4_params", "proj4", "proj4text", "proj4string"})
      if (!m.text(attribute).empty()) return of_definition(m.text(attribute));
    return Error{ErrorKind::incomplete, "projection", m.name, "has neither grid_mapping_name nor proj4_params",
                 "accepted: a CF grid mapping (CF appendix F)"};
  }

  std::string figure;
  bool assumed = false;
  const auto a = m.number("semi_major_axis"), b = m.number("semi_minor_axis"), rf = m.number("inverse_flattening");
  if (const auto radius = m.number("earth_radius"))
    figure = fmt::format(" +R={}", *radius);
  else if (a && b)
    figure = fmt::format(" +a={} +b={}", *a, *b);
  else if (a && rf && *rf > 0)
    figure = fmt::format(" +a={} +rf={}", *a, *rf);
  else if (a)
    figure = fmt::format(" +R={}", *a);
  else {
    figure = " +R=6371229";
    assumed = true;
  }
  const auto number = [&](const char* key, double otherwise) { return m.number(key).value_or(otherwise); };
  const std::string shift = fmt::format(" +x_0={} +y_0={}", number("false_easting", 0), number("false_northing", 0));
  const Attribute* parallels = m.attribute("standard_parallel");
  const auto missing = [&](const char* key) {
    return Error{ErrorKind::incomplete, "projection", m.name, fmt::format("({}) does not give {}", name, key),
                 "complete the grid mapping (CF appendix F)"};
  };

  std::string definition;
  if (name == "lambert_conformal_conic") {
    if (!parallels || parallels->numbers.empty()) return missing("standard_parallel");
    const double first = parallels->numbers.front(), second = parallels->numbers.back();
    const auto meridian = m.number("longitude_of_central_meridian");
    if (!meridian) return missing("longitude_of_central_meridian");
    definition = fmt::format("+proj=lcc +lat_1={} +lat_2={} +lat_0={} +lon_0={}", first, second,
                             number("latitude_of_projection_origin", first), *meridian) +
                 shift;
  } else if (name == "rotated_latitude_longitude") {
    const auto latitude = m.number("grid_north_pole_latitude"), longitude = m.number("grid_north_pole_longitude");
    if (!latitude || !longitude) return missing("the grid north pole");
    definition = fmt::format("+proj=ob_tran +o_proj=longlat +o_lat_p={} +o_lon_p={} +lon_0={}", *latitude,
                             number("north_pole_grid_longitude", 0), std::remainder(180 + *longitude, 360.0));
  } else if (name == "polar_stereographic") {
    const bool is_south = parallels && !parallels->numbers.empty() && parallels->numbers[0] < 0;
    const double origin = number("latitude_of_projection_origin", is_south ? -90 : 90);
    const auto longitude =
        m.number("straight_vertical_longitude_from_pole").value_or(number("longitude_of_projection_origin", std::nan("")));
    if (std::isnan(longitude)) return missing("straight_vertical_longitude_from_pole");
    definition =
        fmt::format("+proj=stere +lat_0={} +lon_0={}", origin, longitude) +
        (parallels && !parallels->numbers.empty() ? fmt::format(" +lat_ts={}", parallels->numbers[0])
                                                  : fmt::format(" +k_0={}", number("scale_factor_at_projection_origin", 1))) +
        shift;
  } else if (name == "stereographic" || name == "oblique_stereographic") {
    definition = fmt::format("+proj={} +lat_0={} +lon_0={} +k_0={}", name == "stereographic" ? "stere" : "sterea",
                             number("latitude_of_projection_origin", 0), number("longitude_of_projection_origin", 0),
                             number("scale_factor_at_projection_origin", 1)) +
                 shift;
  } else if (name == "mercator") {
    definition =
        fmt::format("+proj=merc +lon_0={}", number("longitude_of_projection_origin", 0)) +
        (parallels && !parallels->numbers.empty() ? fmt::format(" +lat_ts={}", parallels->numbers[0])
                                                  : fmt::format(" +k_0={}", number("scale_factor_at_projection_origin", 1))) +
        shift;
  } else if (name == "transverse_mercator") {
    definition = fmt::format("+proj=tmerc +lat_0={} +lon_0={} +k_0={}", number("latitude_of_projection_origin", 0),
                             number("longitude_of_central_meridian", 0), number("scale_factor_at_central_meridian", 1)) +
                 shift;
  } else if (name == "latitude_longitude") {
    definition = "+proj=longlat";
  } else {
    return Error{ErrorKind::unsupported, "projection", m.name, fmt::format("uses the grid mapping \"{}\"", name),
                 "accepted: lambert_conformal_conic, rotated_latitude_longitude, polar_stereographic, stereographic, mercator, "
                 "transverse_mercator, latitude_longitude, or two-dimensional latitude and longitude"};
  }
  auto p = of_definition(definition + figure);
  if (p) {
    p->kind_ = name;
    p->figure_assumed_ = assumed && !p->in_degrees_;
  }
  return p;
}

PlanePosition Projection::forward(GeoPosition g) const {
  PJ_COORD c = proj_coord(g.longitude_deg * kDegree, g.latitude_deg * kDegree, 0, 0);
  proj_errno_reset(engine_->operation);
  c = proj_trans(engine_->operation, PJ_FWD, c);
  if (!std::isfinite(c.xy.x) || !std::isfinite(c.xy.y)) return {std::nan(""), std::nan("")};
  return in_degrees_ ? PlanePosition{c.xy.x / kDegree, c.xy.y / kDegree} : PlanePosition{c.xy.x, c.xy.y};
}

GeoPosition Projection::inverse(PlanePosition p) const {
  PJ_COORD c = in_degrees_ ? proj_coord(p.x * kDegree, p.y * kDegree, 0, 0) : proj_coord(p.x, p.y, 0, 0);
  proj_errno_reset(engine_->operation);
  c = proj_trans(engine_->operation, PJ_INV, c);
  if (!std::isfinite(c.lp.lam) || !std::isfinite(c.lp.phi)) return {std::nan(""), std::nan("")};
  return {c.lp.phi / kDegree, c.lp.lam / kDegree};
}

double Projection::rotation_deg(GeoPosition g) const {
  constexpr double kStep = 1e-3;
  const PlanePosition south = forward({g.latitude_deg - kStep, g.longitude_deg}),
                      north = forward({g.latitude_deg + kStep, g.longitude_deg});
  double dx = north.x - south.x;
  const double dy = north.y - south.y;
  if (in_degrees_) dx = std::remainder(dx, 360.0) * std::cos(forward(g).y * kDegree);
  // True north lies atan2(dx, dy) clockwise from the grid's.
  return -std::atan2(dx, dy) / kDegree;
}

}  // namespace hakea::ingest
