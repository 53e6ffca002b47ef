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
};

inline std::string write_forecast(const std::string& path, const SmallForecast& forecast) {
  const NetcdfWriter nc(path, NC_NETCDF4);
  const std::size_t hours = forecast.hours.size();
  const int time = nc.dimension("time", hours), lat = nc.dimension("lat", 2), lon = nc.dimension("lon", 2);
  const int t = nc.variable("time", NC_DOUBLE, {time}), y = nc.variable("lat", NC_DOUBLE, {lat}),
            x = nc.variable("lon", NC_DOUBLE, {lon}), run = nc.variable("forecast_reference_time", NC_DOUBLE, {});
  for (const auto& [id, name] : {std::pair(t, "time"), std::pair(run, "forecast_reference_time")}) {
    nc.text(id, "units", "hours since 2027-03-30 00:00");
    nc.text(id, "standard_name", name);
  }
  nc.text(y, "units", "degrees_north");
  nc.text(x, "units", "degrees_east");
  if (forecast.member) {
    const int m = nc.variable("realization", NC_INT, {});
    nc.text(m, "standard_name", "realization");
    nc.write(m, {}, {}, {static_cast<double>(*forecast.member)});
  }
  nc.write(run, {}, {}, {0});
  nc.write(t, {0}, {hours}, forecast.hours);
  nc.write(y, {0}, {2}, forecast.latitudes);
  nc.write(x, {0}, {2}, forecast.longitudes);
  for (const SmallField& field : forecast.fields) {
    const std::vector<int> dimensions = field.is_fixed ? std::vector{lat, lon} : std::vector{time, lat, lon};
    const int v = nc.variable(field.name, field.type, dimensions);
    if (!field.standard_name.empty()) nc.text(v, "standard_name", field.standard_name);
    if (!field.units.empty()) nc.text(v, "units", field.units);
    for (const auto& [name, value] : field.texts) nc.text(v, name, value);
    for (const auto& [name, value] : field.numbers) nc.number(v, name, value);
    std::vector<double> values;
    const std::size_t size = field.is_fixed ? 4 : hours * 4;
    for (std::size_t i = 0; i < size; ++i) values.push_back(field.values[i % field.values.size()]);
    if (field.is_fixed)
      nc.write(v, {0, 0}, {2, 2}, values);
    else
      nc.write(v, {0, 0, 0}, {hours, 2, 2}, values);
  }
  return path;
}

}  // namespace hakea::test
