#include "service/input/weather_tables.h"

#include <fmt/format.h>

#include "core/catalogue/catalogue.h"
#include "service/input/json.h"

namespace hakea::service {

ReadWeatherTables read_weather_tables(const std::vector<std::string>& paths) {
  std::vector<std::string_view> keys;
  for (const auto& row : core::catalogue()) keys.push_back(row.key);
  const auto unit_of = [](std::string_view key) {
    const auto q = core::find_quantity(key);
    return q ? std::string(core::catalogue()[*q].unit) : std::string();
  };
  ReadWeatherTables read;
  for (const std::string& path : paths) {
    const auto text = read_text_file(path);
    auto table = text ? ingest::read_weather_csv(*text, path, unit_of, keys) : Result<ingest::WeatherTable>(text.errors());
    if (!table) {
      read.mistakes.insert(read.mistakes.end(), table.errors().begin(), table.errors().end());
      continue;
    }
    read.remarks.insert(read.remarks.end(), table->set_aside.begin(), table->set_aside.end());
    if (table->humidities_cut > 0)
      read.remarks.push_back({ErrorKind::invalid, "humidity_cut", path,
                              fmt::format("{} relative humidities above 100 % are taken as 100", table->humidities_cut), ""});
    read.tables.push_back(*std::move(table));
  }
  return read;
}

}  // namespace hakea::service
