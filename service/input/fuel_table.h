// Fuel types: which models each uses and what it assumes where a unit says nothing (config/fuels.toml).
#pragma once

#include <map>
#include <string>

#include "core/base/result.h"
#include "core/fire/fuel.h"

namespace hakea::service {

struct FuelTable {
  std::map<std::string, core::Fuel, std::less<>> by_type;
  std::string read_from;  // "built in", or the file
};

// All mistakes together; unknown keys are refused with the nearest known one.
Result<FuelTable> parse_fuel_table(std::string_view toml, const std::string& name_for_messages);

// The table built into the program.
const FuelTable& built_in_fuels();
// fuels.toml of a folder, or the built-in table when the folder has none.
Result<FuelTable> fuels_of_folder(const std::string& folder);

}  // namespace hakea::service
