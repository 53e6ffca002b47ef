#include "ingest/station/station_table.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "core/weather/variables.h"
#include "ingest/format/netcdf_output.h"
#include "ingest/format/scratch_file.h"
#include "ingest/station/weather_csv.h"

namespace hakea::ingest {
namespace {

constexpr std::size_t kLargest = 256 << 20;  // bytes of a table
constexpr std::size_t kLetters = 80;         // of a station's name

// What stations measure: the unit that a table's numbers are turned into, which UDUNITS reads as the row's own.
std::string ucum_of(std::string_view key) {
  if (key == "latitude" || key == "longitude") return "deg";
  if (key == "elevation") return "m";
  const auto fed = core::fed_by_key(key);
  if (!fed || core::describe(*fed).on_levels || core::describe(*fed).kind == core::TimeKind::fixed) return "";
  const std::string_view unit = core::describe(*fed).unit;
  if (unit == "degC") return "Cel";
  if (unit == "degree") return "deg";
  if (unit == "W m-2") return "W/m2";
  if (unit == "kg kg-1") return "";
  return std::string(unit);
}

Result<std::string> text_of(int descriptor, const std::string& path) {
  std::string text;
  std::array<char, 1 << 16> part{};
  while (true) {
    const auto got = ::pread(descriptor, part.data(), part.size(), static_cast<off_t>(text.size()));
    if (got < 0) return Error{ErrorKind::unreadable, "unreadable", path, "the table cannot be read", "check the disk"};
    if (got == 0) return text;
    text.append(part.data(), static_cast<std::size_t>(got));
    if (text.size() > kLargest)
      return Error{ErrorKind::unsupported, "too_large", path, "the table is larger than 256 MiB", "split it by year"};
  }
}

std::size_t row_of(const WeatherTable& table, std::string_view key) {
  return static_cast<std::size_t>(std::find(table.keys.begin(), table.keys.end(), key) - table.keys.begin());
}

// The one value a station states in all its rows; NaN where it states none. False where it states several.
bool only_value(const WeatherTable& table, const WeatherTable::Series& series, std::string_view key, double& value) {
  value = std::nan("");
  const std::size_t k = row_of(table, key);
  if (k == table.keys.size()) return true;
  for (const float v : series.values[k]) {
    if (std::isnan(v)) continue;
    if (!std::isnan(value) && value != static_cast<double>(v)) return false;
    value = static_cast<double>(v);
  }
  return true;
}

struct Places {
  std::vector<double> latitude, longitude, elevation;  // by station
};

Result<Places> places_of(const WeatherTable& table, const std::string& path) {
  Places places;
  Errors errors;
  for (const auto& [station, series] : table.by_unit) {
    const bool stays = only_value(table, series, "latitude", places.latitude.emplace_back()) &&
                       only_value(table, series, "longitude", places.longitude.emplace_back()) &&
                       only_value(table, series, "elevation", places.elevation.emplace_back());
    if (!stays)
      errors.push_back({ErrorKind::invalid, "no_place", path, fmt::format("the station \"{}\" moves", station),
                        "give each place a station of its own"});
    else if (std::isnan(places.latitude.back()) || std::isnan(places.longitude.back()))
      errors.push_back({ErrorKind::invalid, "no_place", path, fmt::format("the station \"{}\" states no place", station),
                        "add the columns latitude [deg] and longitude [deg]"});
  }
  if (!errors.empty()) return errors;
  return places;
}

// Amounts and gusts end where their hour ends, everything else is taken at its start.
bool is_of_an_hour(core::TimeKind kind) { return kind == core::TimeKind::amount || kind == core::TimeKind::extreme; }

Result<bool> write(const WeatherTable& table, const Places& places, const std::string& to) {
  UtcHour first = table.by_unit.begin()->second.first, end = first;
  for (const auto& [station, series] : table.by_unit) {
    first = std::min(first, series.first);
    end = std::max(end, series.first + static_cast<int>(series.hours));
  }
  const auto hours = static_cast<std::size_t>(end - first);
  const std::size_t stations = table.by_unit.size();
  NetcdfOutput out(to, NetcdfOutput::Form::scratch);
  const int station = out.dimension("station", stations), time = out.dimension("time", hours),
            hour = out.dimension("hour", hours), two = out.dimension("two", 2);
  const NetcdfOutput::Attributes clock{
      {"standard_name", "time"}, {"units", "seconds since 1970-01-01 00:00:00"}, {"calendar", "standard"}};
  NetcdfOutput::Attributes bounded = clock;
  bounded.emplace_back("bounds", "hour_bounds");
  // Where the record begins: an amount of its first hour ends later.
  const int begins = out.variable("record_begin", {},
                                  {{"standard_name", "forecast_reference_time"}, {"units", "seconds since 1970-01-01 00:00:00"}});
  const int starts = out.variable("time", {time}, clock), ends = out.variable("hour", {hour}, bounded),
            bounds = out.variable("hour_bounds", {hour, two}, {}),
            named =
                out.text_variable("station_name", {station, out.dimension("letters", kLetters)}, {{"cf_role", "timeseries_id"}}),
            latitude = out.variable("latitude", {station}, {{"standard_name", "latitude"}, {"units", "degrees_north"}}),
            longitude = out.variable("longitude", {station}, {{"standard_name", "longitude"}, {"units", "degrees_east"}}),
            elevation =
                out.variable("elevation", {station},
                             {{"standard_name", "surface_altitude"}, {"units", "m"}, {"coordinates", "latitude longitude"}});
  std::vector<int> variables;
  for (const std::string& key : table.keys) {
    const auto fed = core::fed_by_key(key);
    if (!fed) {
      variables.push_back(-1);  // where the station stands
      continue;
    }
    const core::FedVariable& row = core::describe(*fed);
    NetcdfOutput::Attributes attributes{
        {"standard_name", std::string(row.standard_names.substr(0, row.standard_names.find(' ')))},
        {"units", std::string(row.unit)},
        {"coordinates", "latitude longitude"}};
    if (is_of_an_hour(row.kind))
      attributes.emplace_back("cell_methods", row.kind == core::TimeKind::amount ? "hour: sum" : "hour: maximum");
    variables.push_back(out.float_variable(key, {is_of_an_hour(row.kind) ? hour : time, station}, attributes));
  }
  std::vector<double> at_start, at_end, around;
  for (std::size_t i = 0; i < hours; ++i) {
    const auto since_1970 = [&](std::size_t h) {
      return static_cast<double>((first + static_cast<int>(h)).start().time_since_epoch().count());
    };
    at_start.push_back(since_1970(i));
    at_end.push_back(since_1970(i + 1));
    around.insert(around.end(), {since_1970(i), since_1970(i + 1)});
  }
  out.write(begins, std::array{static_cast<double>(first.start().time_since_epoch().count())});
  out.write(starts, at_start);
  out.write(ends, at_end);
  out.write(bounds, around);
  std::vector<std::string> names;
  for (const auto& [id, series] : table.by_unit) names.push_back(id);
  out.write_texts(named, names, kLetters);
  out.write(latitude, places.latitude);
  out.write(longitude, places.longitude);
  out.write(elevation, places.elevation);
  for (std::size_t k = 0; k < table.keys.size(); ++k) {
    if (variables[k] < 0) continue;
    std::size_t s = 0;
    for (const auto& [name, series] : table.by_unit) {
      const std::array<std::size_t, 2> start{static_cast<std::size_t>(series.first - first), s++}, count{series.hours, 1};
      out.write_part(variables[k], start, count, series.values[k]);
    }
  }
  const auto closed = out.close();
  if (!closed) return closed.errors();
  return true;
}

}  // namespace

bool is_station_table(std::string_view head) {
  if (head.starts_with("\xEF\xBB\xBF")) head.remove_prefix(3);
  return head.starts_with("station,time_utc,");
}

Result<int> station_table_as_netcdf(int descriptor, const std::string& path) {
  const auto text = text_of(descriptor, path);
  if (!text) return text.errors();
  std::vector<std::string_view> keys{"latitude", "longitude", "elevation"};
  for (const core::FedVariable& row : core::fed_variables())
    if (!ucum_of(row.key).empty()) keys.push_back(row.key);
  const auto table = read_weather_csv(*text, path, ucum_of, keys, "station");
  if (!table) return table.errors();
  if (table->by_unit.empty())
    return Error{ErrorKind::incomplete, "empty", path, "the table has no row", "give a row for every hour"};
  const auto places = places_of(*table, path);
  if (!places) return places.errors();
  const int scratch = scratch_file();
  const auto written = scratch < 0 ? Result<bool>(Error{}) : write(*table, *places, fmt::format("/proc/self/fd/{}", scratch));
  if (written) return scratch;
  if (scratch >= 0) ::close(scratch);
  return Error{ErrorKind::failed, "unwritable", path, "it cannot be laid out in a temporary file",
               "look at the temporary folder (TMPDIR): it must be writable and have room"};
}

}  // namespace hakea::ingest
