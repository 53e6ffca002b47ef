// Units as people write them in tables and readings: UCUM codes of the trade, and what leads from one to another.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace hakea::ingest {

struct UcumConversion {
  double factor = 1, offset = 0;  // wanted = stated * factor + offset
};
// Nothing when either unit is unknown or they measure different things. A fraction ("1") may stand for percent, and water is
// counted in mm by kg/m2.
std::optional<UcumConversion> convert_ucum(std::string_view from, std::string_view to);

bool is_ucum_unit(std::string_view code);
// What convert_ucum() accepts for a unit, in brackets, separated by commas.
std::string accepted_ucum_units(std::string_view to);

}  // namespace hakea::ingest
