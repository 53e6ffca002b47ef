// The catalogue for those who check it (INTERFACE §5 `quantities`): as JSON, and as the page about the science.
#pragma once

#include <string>

#include "service/input/fuel_table.h"

namespace hakea::service {

// `fuels` says which models are used for which fuel.
std::string quantities_json(const FuelTable& fuels);
// For people, in 100 columns: every quantity at a glance, each with its model and source, the models by fuel, and why a value
// can be missing.
std::string quantities_page(const FuelTable& fuels);

}  // namespace hakea::service
