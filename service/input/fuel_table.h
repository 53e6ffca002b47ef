// Fuel types: which models each uses and what it assumes where a unit says nothing (config/fuels.toml).
#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>

#include "core/base/result.h"
#include "core/fire/fuel.h"

namespace hakea::service {

struct FuelTable {
  std::map<std::string, core::Fuel, std::less<>> by_type;
  std::string read_from;  // "built in", or the file
};

// Properties of fuel that are numbers or words, by the names that the table and the units write. `in_units`: a unit may give
// its own.
struct FuelNumber {
  std::string_view name;
  double lowest, highest;
  bool in_units;
  void (*set)(core::Fuel&, double);
};
std::span<const FuelNumber> fuel_numbers();
std::string_view word(core::MoistureModel model);
std::span<const std::string_view> grass_states();  // in the order of core::GrassState

// All mistakes together; unknown keys are refused with the nearest known one. `like` names another type of the table: what a
// type leaves out is as there.
Result<FuelTable> parse_fuel_table(std::string_view toml, const std::string& name_for_messages);

// The table built into the program.
const FuelTable& built_in_fuels();
// fuels.toml of a folder, or the built-in table when the folder has none.
Result<FuelTable> fuels_of_folder(const std::string& folder);

}  // namespace hakea::service
