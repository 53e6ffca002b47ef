// The known name that a misspelt one most resembles, for messages.
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace hakea::ingest {

// The known name with the fewest letters changed, added, dropped or swapped with a neighbour; empty where none is near.
std::string nearest_name(std::string_view name, std::span<const std::string> known);

}  // namespace hakea::ingest
