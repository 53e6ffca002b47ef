// Which variable of a file is which fed quantity.
//
// Asked in this order: the feed's aliases, the CF standard name, and names that GRIB converters and climate archives
// commonly give. A name counts only when the unit and the height above ground agree with the quantity: an air temperature at
// 850 hPa is not the one at 2 m, whatever it is called.
#pragma once

#include <optional>
#include <string>

#include "core/base/result.h"
#include "core/weather/variables.h"
#include "ingest/cf/coordinates.h"
#include "ingest/cf/units.h"
#include "ingest/feed.h"

namespace hakea::ingest {

enum class NamedBy : std::uint8_t { common_name, standard_name, alias };  // the later counts for more

struct Meaning {
  core::Fed fed{};
  UnitConversion unit;
  std::string stated_unit;
  NamedBy by = NamedBy::common_name;
  VerticalCoordinate vertical;
  std::optional<std::size_t> level;  // of a dimension of heights, the one wanted
  std::vector<std::string> notes;
};

// nullopt where the variable means nothing to us. An error where it would mean something and cannot be trusted: `what`
// says what was found, `hint` what would be accepted.
Result<std::optional<Meaning>> meaning_of(const Feed& feed, const NetcdfFile& file, const FileCoordinates& coordinates,
                                          std::size_t variable);

}  // namespace hakea::ingest
