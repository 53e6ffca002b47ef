#include "service/input/ventilation_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "service/input/built_in_tables.h"
#include "service/input/toml_table.h"

namespace hakea::service {
namespace {

VentilationTable read_table(TomlTable& row, const std::string& id) {
  constexpr std::array<std::string_view, 2> kSides{"below", "above"};
  VentilationTable table;
  table.id = id;
  table.title = row.text("title").value_or(id);
  table.source = row.text("source").value_or("");
  if (table.source.empty()) row.refuse("source", "missing", "the table names no source", "say whose table it is");
  table.bound_belongs_below = row.word("bound_belongs_to", kSides).value_or(1) == 0;
  if (const toml::node* names = row.find("names"); names && names->is_array())
    for (const toml::node& name : *names->as_array())
      if (const auto text = name.value<std::string>()) table.names.push_back(*text);
  if (const toml::node* bounds = row.find("bounds_m2_s"); bounds && bounds->is_array())
    for (const toml::node& bound : *bounds->as_array())
      if (const auto number = bound.value<double>()) table.bounds_m2_s.push_back(*number);
  if (table.names.empty() || table.bounds_m2_s.size() + 1 != table.names.size())
    row.refuse("names", "wrong_count", fmt::format("{} names for {} bounds", table.names.size(), table.bounds_m2_s.size()),
               "give names, and one number fewer as bounds between them");
  if (std::adjacent_find(table.bounds_m2_s.begin(), table.bounds_m2_s.end(), std::greater_equal<>()) != table.bounds_m2_s.end())
    row.refuse("bounds_m2_s", "not_ascending", "the bounds do not ascend", "write them from the lowest to the highest");
  row.refuse_unknown_keys();
  return table;
}

}  // namespace

std::size_t VentilationTable::stretch_of(double index) const {
  const auto bound = bound_belongs_below ? std::lower_bound(bounds_m2_s.begin(), bounds_m2_s.end(), index)
                                         : std::upper_bound(bounds_m2_s.begin(), bounds_m2_s.end(), index);
  return static_cast<std::size_t>(bound - bounds_m2_s.begin());
}

Result<VentilationTables> parse_ventilation_tables(std::string_view text, const std::string& name) {
  const Result<toml::table> document = parse_toml(text, name);
  if (!document) return document.errors();
  VentilationTables all{{}, name};
  Errors mistakes;
  for (const auto& [id, node] : *document) {
    TomlTable row(node, std::string(id.str()), name, mistakes);
    all.tables.push_back(read_table(row, std::string(id.str())));
  }
  if (!mistakes.empty()) return mistakes;
  return all;
}

const VentilationTables& built_in_ventilation() {
  static const VentilationTables tables = parsed_built_in("ventilation.toml", parse_ventilation_tables);
  return tables;
}

Result<VentilationTables> ventilation_of_folder(const std::string& folder) {
  return table_of_folder(folder, "ventilation.toml", parse_ventilation_tables, built_in_ventilation);
}

}  // namespace hakea::service
