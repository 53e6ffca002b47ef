// A year of hourly observations of three airports as the program's weather table, and a unit at each.
#pragma once

#include <fmt/format.h>

#include <sstream>
#include <string>

#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"
#include "tests/support/program_run.h"

namespace hakea::test {

// The cells of the grid that hold each airport's observations.
inline const std::map<std::string, std::string> kAirportCells{
    {"EWR", "[-74.25,40.75]"}, {"JFK", "[-73.75,40.75]"}, {"LGA", "[-73.75,40.75]"}};

inline std::string in_case(std::string text, int (*letter)(int)) {
  for (char& c : text) c = static_cast<char>(letter(c));
  return text;
}

// A unit of one prescription at each airport, called by the airport's name in small letters.
inline std::string airport_units(const std::string& prescription) {
  std::string features;
  for (const auto& [station, cell] : kAirportCells)
    features += fmt::format(
        R"({}{{"type":"Feature","id":"{}","geometry":{{"type":"Point","coordinates":{}}},"properties":{{"name":"{}","time_zone":"America/New_York","fuel":{{"type":"grassland"}},"prescription":{}}}}})",
        features.empty() ? "" : ",", in_case(station, std::tolower), cell, station, prescription);
  return R"({"type":"FeatureCollection","features":[)" + features + "]}";
}

// Yurkonis et al. (2019), Fire Ecology 15:7: 2-43 degC, 25-80 %, 6.44-24.12 km/h, six rain-free hours inside 08:00-18:00.
inline const std::string kGrassRules = R"({"limits":[
      {"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"min":2,"max":43}},
      {"quantity":"relative_humidity","scope":"each_hour","kind":"hard","acceptable":{"min":25,"max":80}},
      {"quantity":"wind_speed","scope":"each_hour","kind":"hard","acceptable":{"min":6.44,"max":24.12}},
      {"quantity":"precipitation_amount","scope":"each_hour","kind":"hard","acceptable":{"max":0}}],
      "within":{"from":"08:00","to":"18:00"},"duration_h":6})";

// The year's table in the program's own columns: the same numbers under other headings.
inline std::string airport_weather(const std::string& path) {
  std::istringstream in(file_bytes(path));
  std::string table =
                  "unit,time_utc,air_temperature [[degF]],relative_humidity [%],wind_from_direction [deg],wind_speed [[mi_i]/h],"
                  "precipitation_amount [[in_i]]\n",
              line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    auto f = split_csv(line);
    for (auto& field : f)
      if (field == "NA") field.clear();
    table += fmt::format("{},{},{},{},{},{},{}\n", in_case(f[0], std::tolower), f[14], f[5], f[7], f[8], f[9], f[11]);
  }
  return table;
}

}  // namespace hakea::test
