// Weather tables of files, as catalogue quantities.
#pragma once

#include <string>
#include <vector>

#include "core/base/result.h"
#include "ingest/station/weather_csv.h"

namespace hakea::service {

struct ReadWeatherTables {
  std::vector<ingest::WeatherTable> tables;  // in the order of the paths; those with mistakes are left out
  Errors mistakes;                           // `unreadable` where a file cannot be opened
  Errors remarks;                            // what was set aside or cut in the tables that are used
};
ReadWeatherTables read_weather_tables(const std::vector<std::string>& paths);

}  // namespace hakea::service
