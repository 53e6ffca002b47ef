// The spread models a fuel type can name. To add one: its file spread_<family>, its word in fuel.h and a row here.
#pragma once

#include <span>
#include <string_view>

#include "core/fire/fuel.h"
#include "core/fire/spread_control_burning.h"

namespace hakea::core {

struct SpreadModelRow {
  SpreadModel id;
  std::string_view key;  // as config/fuels.toml writes it
  std::string_view title, source, domain;
  MetresPerHour (*spread)(const SpreadInputs&);
  bool (*in_domain)(const SpreadInputs&);
  Metres (*flame_height)(TonnesPerHectare, MetresPerHour);
};

std::span<const SpreadModelRow> spread_models();
const SpreadModelRow* find_spread_model(SpreadModel id);  // null for none
const SpreadModelRow* find_spread_model(std::string_view key);

}  // namespace hakea::core
