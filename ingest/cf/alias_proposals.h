// What variables without a known name may be: a guess from their units and the words of their names, for a person to judge.
// Nothing is read because of it; a feed's aliases say what is so.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "core/weather/variables.h"
#include "ingest/cf/coordinates.h"

namespace hakea::ingest {

struct AliasProposal {
  std::string variable, alias;  // as in a feed's aliases: name of the variable -> "key" or "key [unit]"
};

// At most one for each quantity that the file does not give already, near the ground; `known` are the variables that have a
// meaning, or had one and were refused for another reason.
std::vector<AliasProposal> alias_proposals(const NetcdfFile& file, const FileCoordinates& coordinates,
                                           const std::set<core::Fed>& given, const std::set<std::string>& known);

// One line of TOML to paste into a feed's file: aliases = { "temp" = "air_temperature" }
std::string as_toml(const std::vector<AliasProposal>& proposals);

// A unit that would make a number plausible for a quantity, where the stated one does not; empty if none of the usual does.
std::string unit_that_fits(core::Fed fed, double number);

}  // namespace hakea::ingest
