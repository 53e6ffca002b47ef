#include "core/catalogue/status.h"

namespace hakea::core {
namespace {

Rows provisional_rows() {
  Rows rows;
  for (std::size_t q = 0; q < catalogue().size(); ++q) rows.set(q, catalogue()[q].status == Status::provisional);
  return rows;
}

// The rows that are provisional for this unit by themselves. The moisture of grass and of heath counts only where it is
// the unit's own: the litter of a forest names them among its inputs and never takes them.
Rows provisional_rows(const UnitTraits& unit) {
  static const Rows rows = provisional_rows();
  static const std::size_t grass = quantity_index("grass_moisture"), heath = quantity_index("heath_moisture");
  Rows own = rows;
  if (unit.fuel.moisture_model != MoistureModel::grass) own.reset(grass);
  if (unit.fuel.moisture_model != MoistureModel::heath) own.reset(heath);
  return own;
}

}  // namespace

Status status_of(const QuantityRow& row, const UnitTraits& unit) {
  if (row.status == Status::provisional) return Status::provisional;
  const Rows made_of = with_inputs(Rows().set(quantity_index(row.key)));
  return (made_of & provisional_rows(unit)).any() ? Status::provisional : Status::firm;
}

}  // namespace hakea::core
