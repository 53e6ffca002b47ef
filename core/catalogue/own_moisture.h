// Whose moisture the fine dead fuel of a unit has where it has no state of its own.
#pragma once

#include <string_view>

#include "core/fire/fuel.h"

namespace hakea::core {

// The key of the row that litter_moisture takes for this model; empty where it is a state, or only read.
std::string_view own_moisture(MoistureModel model);

}  // namespace hakea::core
