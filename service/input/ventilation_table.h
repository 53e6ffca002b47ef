// Names for stretches of the ventilation index, as authorities use them (config/ventilation.toml).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/base/result.h"

namespace hakea::service {

struct VentilationTable {
  std::string id, title, source;
  std::vector<std::string> names;   // from the lowest stretch up
  std::vector<double> bounds_m2_s;  // ascending, one fewer than names
  bool bound_belongs_below = false;

  // Index into names. `index` is not NaN.
  std::size_t stretch_of(double index_m2_s) const;
};

struct VentilationTables {
  std::vector<VentilationTable> tables;
  std::string read_from;  // "built in", or the file
};

// All mistakes together; unknown keys are refused.
Result<VentilationTables> parse_ventilation_tables(std::string_view toml, const std::string& name_for_messages);
const VentilationTables& built_in_ventilation();
// ventilation.toml of a folder, or the built-in tables when the folder has none.
Result<VentilationTables> ventilation_of_folder(const std::string& folder);

}  // namespace hakea::service
