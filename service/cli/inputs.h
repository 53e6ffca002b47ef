// What several commands read from their call.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/cli/arguments.h"
#include "service/input/unit_json.h"
#include "service/input/weather_tables.h"

namespace hakea::service {

// Adds the mistakes of a result, each with the file it is in.
template <class T>
std::optional<T> taken(Result<T> result, const std::string& file, Errors& mistakes) {
  if (result) return *std::move(result);
  for (Error error : result.errors()) {
    if (error.where != file && !error.where.starts_with(file + ":"))
      error.where = error.where.empty() ? file : file + ": " + error.where;
    mistakes.push_back(std::move(error));
  }
  return std::nullopt;
}

// The word of --format, the first of `formats` unless said; another is a mistake.
std::string format_of_call(const Arguments& call, const std::vector<std::string_view>& formats, Errors& mistakes);

// The units of --units, which must have been given; `units_text`, if set, takes the text of the file.
std::vector<Unit> units_of_call(const Arguments& call, Errors& mistakes, std::string* units_text = nullptr);

// The tables of --weather, with at least one hour; or the exit code, when what is wrong has been told.
struct CalledWeather {
  std::vector<ingest::WeatherTable> tables;
  std::optional<int> failed;
};
CalledWeather weather_of_call(const Arguments& call);

}  // namespace hakea::service
