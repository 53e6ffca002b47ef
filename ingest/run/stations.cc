#include "ingest/run/stations.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string_view>
#include <utility>

#include "ingest/station/nearest.h"

namespace hakea::ingest {
namespace {

// How surely a variable along the stations names them (CF 9.5, A.2): 0 not at all.
int certainty_of_name(const Variable& v) {
  if (v.text("cf_role") == "timeseries_id") return 4;
  const std::string standard_name = v.text("standard_name");
  if (standard_name == "platform_name" || standard_name == "platform_id") return 3;
  if (v.type != ValueType::text) return 0;
  return v.name.find("name") != std::string::npos ? 2 : 1;
}

// As it may be shown to people: what no writer meant as text is a question mark.
std::string shown_name(std::string_view name) {
  constexpr std::size_t kLongest = 80;  // bytes
  std::string shown;
  for (std::size_t i = 0; i < name.size() && shown.size() < kLongest;) {
    const auto byte = [&](std::size_t at) { return at < name.size() ? static_cast<unsigned char>(name[at]) : 0u; };
    const unsigned first = byte(i);
    // Letters of UTF-8 (RFC 3629): two to four bytes, of which the first says how many.
    std::size_t bytes = first < 0x80                    ? 1
                        : first >= 0xC2 && first < 0xE0 ? 2
                        : first >= 0xE0 && first < 0xF0 ? 3
                        : first >= 0xF0 && first < 0xF5 ? 4
                                                        : 0;
    for (std::size_t k = 1; k < bytes; ++k)
      if (byte(i + k) < 0x80 || byte(i + k) > 0xBF) bytes = 0;
    const bool is_odd = (first == 0xE0 && byte(i + 1) < 0xA0) || (first == 0xED && byte(i + 1) > 0x9F) ||
                        (first == 0xF0 && byte(i + 1) < 0x90) || (first == 0xF4 && byte(i + 1) > 0x8F) || first < 0x20 ||
                        first == 0x7F;
    if (bytes == 0 || is_odd) {
      shown += '?';
      ++i;
      continue;
    }
    shown.append(name.substr(i, bytes));
    i += bytes;
  }
  shown.resize(shown.find_last_not_of(' ') + 1);
  return shown;
}

std::vector<std::string> names_of(const NetcdfFile& file, std::optional<std::size_t> dimension) {
  const Variable* best = nullptr;
  for (const Variable& v : file.variables()) {
    const bool is_text = v.type == ValueType::text;
    const bool is_along =
        dimension ? !v.dimensions.empty() && v.dimensions.front() == *dimension && v.dimensions.size() <= (is_text ? 2u : 1u)
                  : v.dimensions.size() <= (is_text ? 1u : 0u);
    if (is_along && certainty_of_name(v) > (best ? certainty_of_name(*best) : 0)) best = &v;
  }
  if (!best) return {};
  const auto index = static_cast<std::size_t>(best - file.variables().data());
  if (best->type == ValueType::text) {
    auto text = file.read_text(index);
    return text ? *std::move(text) : std::vector<std::string>();
  }
  std::vector<std::string> names;
  if (const auto numbers = file.read_all(index))
    for (const double number : *numbers) names.push_back(fmt::format("{}", number));
  return names;
}

}  // namespace

std::optional<StationRow> station_row(std::size_t grid, const Grid& places, const NetcdfFile& file,
                                      std::optional<std::size_t> dimension, const std::vector<double>& elevations) {
  if (places.kind() != "stations" && places.kind() != "single_point") return std::nullopt;
  StationRow row{grid, names_of(file, dimension), {}};
  if (row.names.size() != places.nx()) row.names.assign(places.nx(), "");
  for (std::size_t i = 0; i < places.nx(); ++i) {
    const GeoPosition at = places.position(0, static_cast<std::int32_t>(i));
    row.stations.push_back({at.latitude_deg, at.longitude_deg, i < elevations.size() ? elevations[i] : std::nan("")});
    // One without a name is called by its place.
    std::string& name = row.names[i];
    name = shown_name(name);
    if (name.empty()) name = fmt::format("{:.4f},{:.4f}", at.latitude_deg, at.longitude_deg);
  }
  return row;
}

Stencil ChosenStations::stencil(std::size_t point, std::size_t grid) const {
  Stencil s;
  if (grids[point] != grid) return s;
  s.x[0] = static_cast<std::int32_t>(places[point]);
  s.weight[0] = 1;
  s.cells = 1;
  return s;
}

ChosenStations stations_near(const std::vector<StationRow>& rows, const std::vector<PointOfInterest>& points) {
  std::vector<StationSite> all;
  std::vector<std::pair<const StationRow*, std::size_t>> where;
  for (const StationRow& row : rows)
    for (std::size_t i = 0; i < row.stations.size(); ++i) {
      all.push_back({row.stations[i].latitude_deg, row.stations[i].longitude_deg, row.stations[i].elevation_m});
      where.emplace_back(&row, i);
    }
  ChosenStations chosen;
  std::map<std::size_t, std::int32_t> point_of;
  for (const PointOfInterest& p : points) {
    PointList& near = chosen.near.emplace_back();
    for (const std::size_t station : nearest_stations({p.latitude_deg, p.longitude_deg, p.elevation_m}, all)) {
      const auto [point, is_new] = point_of.try_emplace(station, static_cast<std::int32_t>(chosen.sites.size()));
      near.push_back(point->second);
      if (!is_new) continue;
      const auto& [row, place] = where[station];
      chosen.sites.push_back(row->stations[place]);
      chosen.names.push_back(row->names[place]);
      chosen.grids.push_back(row->grid);
      chosen.places.push_back(place);
    }
  }
  return chosen;
}

}  // namespace hakea::ingest
