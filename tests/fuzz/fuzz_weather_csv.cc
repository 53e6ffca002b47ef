// Weather tables.
#include <cmath>

#include "core/catalogue/catalogue.h"
#include "core/weather/variables.h"
#include "ingest/station/weather_csv.h"
#include "tests/fuzz/fuzz.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace hakea;
  const auto unit_of = [](std::string_view key) {
    const auto row = core::find_quantity(key);
    return row ? std::string(core::catalogue()[*row].unit) : std::string();
  };
  const auto table = ingest::read_weather_csv(std::string(test::as_text(data, size)), "weather.csv", unit_of);
  if (!table) {
    for (const Error& error : table.errors()) test::must(!error.code.empty() && !error.what.empty(), "a refusal says something");
    return 0;
  }
  for (const auto& [unit, series] : table->by_unit) {
    test::must(series.values.size() == table->keys.size(), "each quantity has a column");
    for (std::size_t k = 0; k < series.values.size(); ++k) {
      test::must(series.values[k].size() == series.hours, "each hour has a value");
      const auto fed = core::fed_by_key(table->keys[k]);
      for (const float value : series.values[k])
        test::must(std::isnan(value) || std::isfinite(value), "a value is a number or missing");
      if (!fed || *fed == core::Fed::mixing_height) continue;  // a mixing height above the unit may lie below the model's ground
      const auto [lowest, highest] = std::pair(core::describe(*fed).lowest, core::describe(*fed).highest);
      for (const float value : series.values[k])
        test::must(std::isnan(value) || (static_cast<double>(value) >= lowest && static_cast<double>(value) <= highest),
                   "nothing implausible is taken");
    }
  }
  return 0;
}
