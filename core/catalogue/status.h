// Whether a quantity of a unit rests on firm ground: the same row can be firm for one fuel and provisional for another.
#pragma once

#include "core/catalogue/catalogue.h"

namespace hakea::core {

// Provisional where the row is, the model of spread or moisture that the unit's fuel names, or anything that the quantity is
// computed from.
Status status_of(const QuantityRow& row, const UnitTraits& unit);

}  // namespace hakea::core
