#include "service/input/fuel_table.h"

#include <fmt/format.h>

#include <array>
#include <filesystem>

#include "service/input/built_in_tables.h"
#include "service/input/json.h"
#include "service/input/toml_table.h"

namespace hakea::service {
namespace {

using core::Fuel;

struct NumberKey {
  std::string_view name;
  void (*set)(Fuel&, double);
};
constexpr std::array<NumberKey, 10> kNumbers{{
    {"load_t_ha", [](Fuel& f, double v) { f.load = TonnesPerHectare(v); }},
    {"age_years", [](Fuel& f, double v) { f.age_years = v; }},
    {"height_m", [](Fuel& f, double v) { f.height = Metres(v); }},
    {"curing_pct", [](Fuel& f, double v) { f.curing = Percent(v); }},
    {"wind_reduction", [](Fuel& f, double v) { f.wind_reduction = v; }},
    {"canopy_height_m", [](Fuel& f, double v) { f.canopy_height = Metres(v); }},
    {"litter_time_lag_h", [](Fuel& f, double v) { f.litter_time_lag = Hours(v); }},
    {"canopy_interception", [](Fuel& f, double v) { f.canopy_interception = v; }},
    {"canopy_store_mm", [](Fuel& f, double v) { f.canopy_store = Millimetres(v); }},
    {"litter_light_share", [](Fuel& f, double v) { f.litter_light_share = v; }},
}};

// In the order of the enumerations.
constexpr std::array<std::string_view, 7> kMoistureModels{"none",         "eucalypt_litter", "grass",   "heath",
                                                          "mallee_heath", "buttongrass",     "time_lag"};
constexpr std::array<std::string_view, 2> kSpreadModels{"none", "control_burning"};

}  // namespace

Result<FuelTable> parse_fuel_table(std::string_view text, const std::string& name) {
  const Result<toml::table> document = parse_toml(text, name);
  if (!document) return document.errors();
  FuelTable table{{}, name};
  Errors mistakes;
  for (const auto& [type, node] : *document) {
    TomlTable row(node, std::string(type.str()), name, mistakes);
    Fuel fuel;
    fuel.type = std::string(type.str());
    row.ignore({"title", "source"});
    fuel.is_forest = row.yes_or_no("forest").value_or(false);
    if (const auto model = row.word("moisture_model", kMoistureModels))
      fuel.moisture_model = static_cast<core::MoistureModel>(*model);
    if (const auto model = row.word("spread_model", kSpreadModels)) fuel.spread_model = static_cast<core::SpreadModel>(*model);
    for (const NumberKey& key : kNumbers)
      if (const auto value = row.number(key.name)) key.set(fuel, *value);
    row.refuse_unknown_keys();
    table.by_type.emplace(fuel.type, std::move(fuel));
  }
  if (!mistakes.empty()) return mistakes;
  return table;
}

const FuelTable& built_in_fuels() {
  static const FuelTable table = [] {
    auto parsed = parse_fuel_table(built_in_table("fuels.toml"), "built in");
    HAKEA_EXPECT(static_cast<bool>(parsed));
    return *std::move(parsed);
  }();
  return table;
}

Result<FuelTable> fuels_of_folder(const std::string& folder) {
  const std::string path = (std::filesystem::path(folder) / "fuels.toml").string();
  if (!std::filesystem::exists(path)) return built_in_fuels();
  const auto text = read_text_file(path);
  if (!text) return text.errors();
  return parse_fuel_table(*text, path);
}

}  // namespace hakea::service
