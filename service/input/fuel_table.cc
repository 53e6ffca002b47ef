#include "service/input/fuel_table.h"

#include <fmt/format.h>

#include <array>

#include "core/base/nearest.h"
#include "core/fire/spread_models.h"
#include "service/input/built_in_tables.h"
#include "service/input/toml_table.h"

namespace hakea::service {
namespace {

using core::Fuel;
using core::FuelBed;

constexpr std::array kNumbers{
    FuelNumber{"load_t_ha", 0, 1000, true, [](Fuel& f, double v) { f.load = TonnesPerHectare(v); }},
    FuelNumber{"age_years", 0, 1000, true, [](Fuel& f, double v) { f.age_years = v; }},
    FuelNumber{"height_m", 0, 50, true, [](Fuel& f, double v) { f.height = Metres(v); }},
    FuelNumber{"curing_pct", 0, 100, true, [](Fuel& f, double v) { f.curing = Percent(v); }},
    FuelNumber{"wind_reduction", 1, 20, true, [](Fuel& f, double v) { f.wind_reduction = v; }},
    FuelNumber{"canopy_height_m", 0, 120, true, [](Fuel& f, double v) { f.canopy_height = Metres(v); }},
    FuelNumber{"canopy_cover_pct", 0, 100, true, [](Fuel& f, double v) { f.canopy_cover = Percent(v); }},
    FuelNumber{"crown_ratio", 0, 1, true, [](Fuel& f, double v) { f.crown_ratio = v; }},
    FuelNumber{"ground_cover_pct", 0, 100, true, [](Fuel& f, double v) { f.ground_cover = Percent(v); }},
    FuelNumber{"tree_factor", 0, 1, true, [](Fuel& f, double v) { f.tree_factor = v; }},
    FuelNumber{"surface_score", 0, 4, true, [](Fuel& f, double v) { f.surface_score = v; }},
    FuelNumber{"near_surface_score", 0, 4, true, [](Fuel& f, double v) { f.near_surface_score = v; }},
    FuelNumber{"elevated_score", 0, 4, true, [](Fuel& f, double v) { f.elevated_score = v; }},
    FuelNumber{"elevated_height_m", 0, 20, true, [](Fuel& f, double v) { f.elevated_height = Metres(v); }},
    FuelNumber{"live_herb_moisture_pct", 0, 400, true, [](Fuel& f, double v) { f.live_herb_moisture = Percent(v); }},
    FuelNumber{"live_woody_moisture_pct", 0, 400, true, [](Fuel& f, double v) { f.live_woody_moisture = Percent(v); }},
    FuelNumber{"scorch_factor", 0.1, 10, true, [](Fuel& f, double v) { f.scorch_factor = v; }},
    FuelNumber{"litter_time_lag_h", 0, 1000, false, [](Fuel& f, double v) { f.litter_time_lag = Hours(v); }},
    FuelNumber{"canopy_interception", 0, 1, false, [](Fuel& f, double v) { f.canopy_interception = v; }},
    FuelNumber{"canopy_store_mm", 0, 100, false, [](Fuel& f, double v) { f.canopy_store = Millimetres(v); }},
    FuelNumber{"litter_light_share", 0, 1, false, [](Fuel& f, double v) { f.litter_light_share = v; }},
    FuelNumber{"steady_load_t_ha", 0, 1000, false, [](Fuel& f, double v) { f.steady_load = TonnesPerHectare(v); }},
    FuelNumber{"residual_load_t_ha", 0, 1000, false, [](Fuel& f, double v) { f.residual_load = TonnesPerHectare(v); }},
    FuelNumber{"accumulation_per_year", 0, 10, false, [](Fuel& f, double v) { f.accumulation_per_year = v; }},
};

// In the order of the enumerations.
constexpr std::array<std::string_view, 7> kMoistureModels{"none",         "eucalypt_litter", "grass",   "heath",
                                                          "mallee_heath", "buttongrass",     "time_lag"};
constexpr std::array<std::string_view, 4> kGrass{"none", "natural", "grazed", "eaten_out"};
constexpr std::array<std::string_view, 2> kFlameLengths{"byram", "thomas"};
constexpr std::array<std::string_view, 3> kScorches{"ambient", "mean_air", "wind"};
constexpr std::array<std::string_view, 2> kStatuses{"firm", "provisional"};

std::vector<std::string_view> spread_words() {
  std::vector<std::string_view> words{"none"};
  for (const core::SpreadModelRow& row : core::spread_models()) words.push_back(row.key);
  return words;
}

// As many numbers as the list has room for.
template <std::size_t N>
bool read_list(TomlTable& table, std::string_view key, std::array<double, N>& list) {
  const toml::node* node = table.find(key);
  if (!node) return false;
  const toml::array* numbers = node->as_array();
  bool is_right = numbers && numbers->size() == N;
  for (std::size_t i = 0; is_right && i < N; ++i) {
    is_right = (*numbers)[i].is_number();
    if (is_right) list[i] = *(*numbers)[i].value<double>();
  }
  if (!is_right)
    table.refuse(key, "wrong_kind", fmt::format("{} is not a list of {} numbers", key, N), fmt::format("write {} numbers", N));
  return true;
}

FuelBed read_bed(const toml::node& node, const std::string& name, const std::string& file, Errors& mistakes) {
  constexpr double kPoundsPerSquareFootInTonPerAcre = 2000.0 / 43560;
  FuelBed bed;
  TomlTable table(node, name, file, mistakes);
  const bool in_pounds = read_list(table, "load_lb_ft2", bed.load_lb_ft2);
  const bool in_tons = read_list(table, "load_ton_acre", bed.load_lb_ft2);
  if (in_tons)
    for (double& load : bed.load_lb_ft2) load *= kPoundsPerSquareFootInTonPerAcre;
  if (in_pounds == in_tons)
    table.refuse("load_ton_acre", "required", "a bed has its loads once", "write load_ton_acre or load_lb_ft2, five numbers");
  std::array<double, 3> fine{};
  if (!read_list(table, "surface_to_volume_per_ft", fine))
    table.refuse("surface_to_volume_per_ft", "required", "a bed has surface-to-volume ratios",
                 "write those of one-hour dead, live herbaceous and live woody fuel");
  bed.surface_to_volume_per_ft = {fine[0], 109, 30, fine[1], fine[2]};  // ten and a hundred hours: by definition
  for (const auto& [key, member] : {std::pair{"depth_ft", &FuelBed::depth_ft},
                                    {"extinction_pct", &FuelBed::extinction_pct},
                                    {"heat_btu_lb", &FuelBed::heat_btu_lb}}) {
    bed.*member = table.number(key).value_or(0);
    if (!(bed.*member > 0)) table.refuse(key, "required", fmt::format("a bed has {}", key), "write a number over 0");
  }
  bed.is_dynamic = table.yes_or_no("dynamic").value_or(false);
  table.refuse_unknown_keys();
  return bed;
}

// The table of a type with what it takes from the type that it is like, and that from its own.
toml::table with_likeness(const toml::table& types, const std::string& type, std::size_t steps = 0) {
  const toml::table* own = types[type].as_table();
  toml::table whole;
  if (!own) return whole;
  if (const auto like = (*own)["like"].value<std::string>(); like && steps < types.size())
    whole = with_likeness(types, *like, steps + 1);
  for (const auto& [key, node] : *own) whole.insert_or_assign(key.str(), node);
  return whole;
}

void check_likeness(TomlTable& row, const toml::table& types, const std::string& type) {
  const auto like = row.text("like");
  if (!like) return;
  std::vector<std::string_view> known;
  for (const auto& [name, node] : types) known.push_back(name.str());
  if (!types.contains(*like)) {
    const std::string_view near = nearest(*like, known);
    row.refuse("like", "unknown_fuel", fmt::format("the fuel type \"{}\" is not known", *like),
               near.empty() ? "name a type of this table" : fmt::format("did you mean {}?", near));
    return;
  }
  std::string at = *like;
  for (std::size_t steps = 0; steps <= types.size(); ++steps) {
    const auto next = types[at]["like"].value<std::string>();
    if (!next) return;
    at = *next;
  }
  row.refuse("like", "circle", fmt::format("{} is like itself in the end", type), "leave one like of the circle out");
}

}  // namespace

std::span<const FuelNumber> fuel_numbers() { return kNumbers; }
std::string_view word(core::MoistureModel model) { return kMoistureModels[static_cast<std::size_t>(model)]; }
std::span<const std::string_view> grass_states() { return kGrass; }

Result<FuelTable> parse_fuel_table(std::string_view text, const std::string& name) {
  const Result<toml::table> document = parse_toml(text, name);
  if (!document) return document.errors();
  const std::vector<std::string_view> spread_models = spread_words();
  FuelTable table{{}, name};
  Errors mistakes;
  for (const auto& [type, node] : *document) {
    if (!node.is_table()) {
      TomlTable(node, std::string(type.str()), name, mistakes);
      continue;
    }
    const toml::table whole = with_likeness(*document, std::string(type.str()));
    TomlTable row(whole, std::string(type.str()), name, mistakes);
    Fuel fuel;
    fuel.type = std::string(type.str());
    row.ignore({"title", "source"});
    check_likeness(row, *document, fuel.type);
    fuel.is_forest = row.yes_or_no("forest").value_or(fuel.is_forest);
    fuel.is_wet_forest = row.yes_or_no("wet").value_or(fuel.is_wet_forest);
    if (const auto model = row.word("moisture_model", kMoistureModels))
      fuel.moisture_model = static_cast<core::MoistureModel>(*model);
    if (const auto model = row.word("spread_model", spread_models); model && *model > 0)
      fuel.spread_model = core::spread_models()[*model - 1].id;
    if (const auto status = row.word("spread_status", kStatuses)) fuel.spread_status = static_cast<core::Status>(*status);
    if (const auto grass = row.word("grass", kGrass)) fuel.grass = static_cast<core::GrassState>(*grass);
    if (const auto model = row.word("flame_length", kFlameLengths)) fuel.flame_length = static_cast<core::FlameLength>(*model);
    if (const auto model = row.word("scorch", kScorches)) fuel.scorch = static_cast<core::Scorch>(*model);
    for (const FuelNumber& number : kNumbers) {
      const auto value = row.number(number.name);
      if (value && (*value < number.lowest || *value > number.highest))
        row.refuse(number.name, "out_of_range", fmt::format("{} is {:g}", number.name, *value),
                   fmt::format("write a number from {:g} to {:g}", number.lowest, number.highest));
      else if (value)
        number.set(fuel, *value);
    }
    if (const toml::node* bed = row.find("bed")) fuel.bed = read_bed(*bed, fuel.type + ".bed", name, mistakes);
    row.refuse_unknown_keys();
    table.by_type.emplace(fuel.type, std::move(fuel));
  }
  if (!mistakes.empty()) return mistakes;
  return table;
}

const FuelTable& built_in_fuels() {
  static const FuelTable table = parsed_built_in("fuels.toml", parse_fuel_table);
  return table;
}

Result<FuelTable> fuels_of_folder(const std::string& folder) {
  return table_of_folder(folder, "fuels.toml", parse_fuel_table, built_in_fuels);
}

}  // namespace hakea::service
