// Small forecast files for tests: some quantities over a grid of two by two cells at some hours of one run.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "tests/support/netcdf_writer.h"

namespace hakea::test {

struct SmallField {
  std::string name, standard_name, units;
  std::vector<double> values;  // one for all, or those of the four cells (south-west first), or of all hours and cells
  std::map<std::string, std::string> texts{};
  std::map<std::string, double> numbers{};  // attributes of type double
  nc_type type = NC_FLOAT;
  bool is_fixed = false;  // without time
};

struct SmallForecast {
  std::vector<double> hours{0, 1, 2};  // since 2027-03-30, the reference time
  std::optional<int> member{};         // of a file of one member
  std::vector<SmallField> fields;
  std::vector<double> latitudes{-37, -36}, longitudes{145, 146};
  double reference_h = 0;  // hours after 2027-03-30
  // Of a file of several members: their numbers, the name of their dimension, and its place among time, lat and lon.
  std::vector<double> members{};
  std::string member_dimension = "realization";
  std::size_t member_place = 0;
  std::map<std::string, std::vector<double>> by_member{};  // by field: what is added to its values, by member
};

inline std::string write_forecast(const std::string& path, const SmallForecast& forecast) {
  const NetcdfWriter nc(path, NC_NETCDF4);
  const std::size_t hours = forecast.hours.size();
  const int time = nc.dimension("time", hours), lat = nc.dimension("lat", 2), lon = nc.dimension("lon", 2);
  const int ensemble = forecast.members.empty() ? -1 : nc.dimension(forecast.member_dimension, forecast.members.size());
  const int t = nc.variable("time", NC_DOUBLE, {time}), y = nc.variable("lat", NC_DOUBLE, {lat}),
            x = nc.variable("lon", NC_DOUBLE, {lon}), run = nc.variable("forecast_reference_time", NC_DOUBLE, {});
  for (const auto& [id, name] : {std::pair(t, "time"), std::pair(run, "forecast_reference_time")}) {
    nc.text(id, "units", "hours since 2027-03-30 00:00");  // also of an earlier run
    nc.text(id, "standard_name", name);
  }
  nc.text(y, "units", "degrees_north");
  nc.text(x, "units", "degrees_east");
  if (forecast.member) {
    const int m = nc.variable("realization", NC_INT, {});
    nc.text(m, "standard_name", "realization");
    nc.write(m, {}, {}, {static_cast<double>(*forecast.member)});
  }
  if (ensemble >= 0) {
    const int m = nc.variable(forecast.member_dimension, NC_INT, {ensemble});
    nc.text(m, "standard_name", "realization");
    nc.write(m, {0}, {forecast.members.size()}, forecast.members);
  }
  nc.write(run, {}, {}, {forecast.reference_h});
  nc.write(t, {0}, {hours}, forecast.hours);
  nc.write(y, {0}, {2}, forecast.latitudes);
  nc.write(x, {0}, {2}, forecast.longitudes);
  for (const SmallField& field : forecast.fields) {
    std::vector<int> dimensions = field.is_fixed ? std::vector{lat, lon} : std::vector{time, lat, lon};
    std::vector<std::size_t> count = field.is_fixed ? std::vector<std::size_t>{2, 2} : std::vector<std::size_t>{hours, 2, 2};
    const bool has_members = ensemble >= 0 && !field.is_fixed;
    const std::size_t place = forecast.member_place;
    if (has_members) {
      dimensions.insert(dimensions.begin() + static_cast<std::ptrdiff_t>(place), ensemble);
      count.insert(count.begin() + static_cast<std::ptrdiff_t>(place), forecast.members.size());
    }
    const int v = nc.variable(field.name, field.type, dimensions);
    if (!field.standard_name.empty()) nc.text(v, "standard_name", field.standard_name);
    if (!field.units.empty()) nc.text(v, "units", field.units);
    for (const auto& [name, value] : field.texts) nc.text(v, name, value);
    for (const auto& [name, value] : field.numbers) nc.number(v, name, value);
    std::size_t size = 1, behind = 1;  // of all; of what varies faster than the member
    for (std::size_t d = 0; d < count.size(); ++d) {
      size *= count[d];
      if (has_members && d > place) behind *= count[d];
    }
    const auto added = forecast.by_member.find(field.name);
    std::vector<double> values;
    for (std::size_t i = 0; i < size; ++i) {
      const std::size_t member = has_members ? i / behind % forecast.members.size() : 0,
                        cell = has_members ? i / (behind * forecast.members.size()) * behind + i % behind : i;
      values.push_back(field.values[cell % field.values.size()] +
                       (has_members && added != forecast.by_member.end() ? added->second[member] : 0));
    }
    nc.write(v, std::vector<std::size_t>(count.size(), 0), count, values);
  }
  return path;
}

}  // namespace hakea::test
