#include "core/fire/spread_models.h"

#include <array>

namespace hakea::core {
namespace {

constexpr std::array kModels{
    SpreadModelRow{SpreadModel::control_burning, "control_burning", "Control burning in eucalypt forest",
                   "McArthur 1962 Leaflet 80; Gould 1994",
                   "load 5-25 t/ha, litter moisture 5-25 %, wind in the forest 0-10 km/h, slope up to 15 degrees",
                   control_burning_spread, in_control_burning_domain, control_burning_flame_height},
};

}  // namespace

std::span<const SpreadModelRow> spread_models() { return kModels; }

const SpreadModelRow* find_spread_model(SpreadModel id) {
  for (const SpreadModelRow& row : kModels)
    if (row.id == id) return &row;
  return nullptr;
}

const SpreadModelRow* find_spread_model(std::string_view key) {
  for (const SpreadModelRow& row : kModels)
    if (row.key == key) return &row;
  return nullptr;
}

}  // namespace hakea::core
