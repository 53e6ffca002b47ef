#include "service/cli/inputs.h"

#include <fmt/format.h>

#include <algorithm>

#include "service/engine/assessment.h"
#include "service/input/json.h"

namespace hakea::service {

std::string format_of_call(const Arguments& call, const std::vector<std::string_view>& formats, Errors& mistakes) {
  std::string format = call.one("--format", std::string(formats.front()));
  if (std::find(formats.begin(), formats.end(), format) != formats.end()) return format;
  std::string known;
  for (std::size_t i = 0; i < formats.size(); ++i)
    known += fmt::format("{}{}", i == 0 ? "" : i + 1 == formats.size() ? " or " : ", ", formats[i]);
  mistakes.push_back(
      wrong_call("--format", fmt::format("\"{}\" is not a format of this command", format), fmt::format("write {}", known)));
  return format;
}

std::vector<Unit> units_of_call(const Arguments& call, Errors& mistakes, std::string* units_text) {
  const std::string path = call.one("--units");
  if (auto text = taken(read_text_file(path), path, mistakes)) {
    auto units = taken(parse_units(*text, built_in_fuels(), path), path, mistakes);
    if (units_text) *units_text = *std::move(text);
    if (units) return *std::move(units);
  }
  return {};
}

CalledWeather weather_of_call(const Arguments& call) {
  ReadWeatherTables read = read_weather_tables(call.all("--weather"));
  complain(read.remarks);
  if (read.mistakes.empty() && !first_hour_of(read.tables))
    read.mistakes.push_back({ErrorKind::incomplete, "no_hours", call.all("--weather").front(), "the weather file has no hour",
                             "give a row for every hour"});
  if (read.mistakes.empty()) return {std::move(read.tables), std::nullopt};
  complain(read.mistakes);
  const bool is_missing =
      std::any_of(read.mistakes.begin(), read.mistakes.end(), [](const Error& mistake) { return mistake.code == "unreadable"; });
  return {{}, is_missing ? kWrongCall : kFailed};
}

}  // namespace hakea::service
