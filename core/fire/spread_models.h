// The spread models a fuel type can name. To add one: its file spread_<family>, its word in fuel.h and a row here.
#pragma once

#include <span>
#include <string_view>

#include "core/fire/fuel.h"
#include "core/fire/spread_inputs.h"

namespace hakea::core {

struct SpreadModelRow {
  SpreadModel id;
  std::string_view key;  // as config/fuels.toml writes it
  std::string_view title, source, equation, domain;
  std::string_view inputs;  // names of known_spread_inputs(); separated by blanks
  Status status = Status::firm;
  MetresPerHour (*spread)(const SpreadInputs&);
  bool (*in_domain)(const SpreadInputs&);
  std::string_view intensity, intensity_inputs;  // what it is computed by, and from beside the spread
  KilowattsPerMetre (*fireline_intensity)(const SpreadInputs&, MetresPerHour);
  std::string_view flame_height{}, flame_height_inputs{};
  // At most one of the two; neither where no flame height was published.
  Metres (*flame_height_of_spread)(const SpreadInputs&, MetresPerHour) = nullptr;
  Metres (*flame_height_of_intensity)(KilowattsPerMetre) = nullptr;
};

std::span<const SpreadModelRow> spread_models();
const SpreadModelRow* find_spread_model(SpreadModel id);  // null for none
const SpreadModelRow* find_spread_model(std::string_view key);

// Of what a unit of this fuel is told: provisional where its model is, or where the model only stands in for the fuel.
Status spread_status(const Fuel& fuel);

}  // namespace hakea::core
