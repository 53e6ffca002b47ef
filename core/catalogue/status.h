// Whether a quantity of a unit rests on firm ground: the same row can be firm for one fuel and provisional for another.
#pragma once

#include "core/catalogue/catalogue.h"

namespace hakea::core {

// Provisional where the row is, the model that the unit's fuel names for it, or anything that it is computed from.
Status status_of(const QuantityRow& row, const UnitTraits& unit);

}  // namespace hakea::core
