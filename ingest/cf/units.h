// From the unit a file states to the unit ingest delivers.
//
// The only door to UDUNITS. Unit strings that UDUNITS reads otherwise than weather files mean them ("C" is not a coulomb
// there) go through a small table first. A unit that does not fit the quantity is refused, naming both; nothing is guessed.
// One thread at a time (UDUNITS keeps state); the functions take a lock.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "core/base/result.h"
#include "core/weather/variables.h"

namespace hakea::ingest {

// What the converted number counts.
enum class UnitForm : std::uint8_t {
  plain,     // the quantity itself, in the unit of its row
  rate,      // an amount per time: mm per hour
  energy,    // radiation summed over time: J m-2, to be divided by seconds
  fraction,  // the unit says neither percent nor fraction; the values decide (see settle_fraction)
};

struct UnitConversion {
  double factor = 1, offset = 0;  // wanted = stated * factor + offset
  UnitForm form = UnitForm::plain;
  std::string note;  // an assumption worth telling, empty when none was made
};

// How to bring numbers stated in `unit` to the unit of `wanted`. Errors: unknown_unit, unit_mismatch, no_unit; each names
// what was found and what would be accepted.
Result<UnitConversion> conversion_to(core::Fed wanted, std::string_view unit);

// The same between two unit strings; nullopt when either is unknown or they are not convertible.
struct LinearConversion {
  double factor = 1, offset = 0;
};
std::optional<LinearConversion> convert_units(std::string_view from, std::string_view to);

// Whether numbers of form `fraction` run to 1 or to 100, by the largest of them: up to 1.5 it is a fraction.
UnitConversion settle_fraction(core::Fed wanted, double largest);

}  // namespace hakea::ingest
