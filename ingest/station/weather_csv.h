// Weather given as a table: `time_utc`, then catalogue keys with their UCUM unit in brackets, optionally a first column
// `unit` (INTERFACE §5). Each filled cell is a reading; an empty cell or an absent row is missing; nothing is interpolated.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"

namespace hakea::ingest {

struct WeatherTable {
  std::vector<std::string> keys;  // catalogue keys in column order
  struct Series {
    UtcHour first;
    std::size_t hours = 0;
    std::vector<std::vector<float>> values;  // by key, by hour, in catalogue units, NaN where missing
  };
  Errors set_aside;                       // cells outside the plausible range, taken as missing
  std::size_t humidities_cut = 0;         // above 100 % by no more than sensors are wrong, taken as 100
  std::map<std::string, Series> by_unit;  // "" = for every unit
};

// `unit_of(key)` gives the catalogue's UCUM unit, empty for an unknown key; `known_keys` are offered for misspelt ones, the
// fed quantities where none are given. `id_column` names the optional first column. Mistakes of the header are reported together,
// else those of all rows (the first 200), with line and column.
Result<WeatherTable> read_weather_csv(const std::string& text, const std::string& name_for_messages,
                                      const std::function<std::string(std::string_view)>& unit_of,
                                      const std::vector<std::string_view>& known_keys = {}, std::string_view id_column = "unit");

}  // namespace hakea::ingest
