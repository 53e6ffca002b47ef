#include "core/catalogue/status.h"

#include "core/catalogue/own_moisture.h"
#include "core/fire/spread_models.h"

namespace hakea::core {
namespace {

Rows provisional_rows() {
  Rows rows;
  for (std::size_t q = 0; q < catalogue().size(); ++q) rows.set(q, catalogue()[q].status == Status::provisional);
  return rows;
}

// The moistures by fuel, of which a unit's litter_moisture takes one at most though it names them all as inputs.
Rows moistures_by_fuel() {
  Rows rows;
  for (const MoistureModel model :
       {MoistureModel::grass, MoistureModel::heath, MoistureModel::mallee_heath, MoistureModel::buttongrass})
    rows.set(quantity_index(own_moisture(model)));
  return rows;
}

// The rows that are provisional for this unit by themselves.
Rows provisional_rows(const UnitTraits& unit) {
  static const Rows rows = provisional_rows(), by_fuel = moistures_by_fuel();
  static const std::size_t spread = quantity_index("rate_of_spread");
  Rows others = by_fuel;
  if (const std::string_view own = own_moisture(unit.fuel.moisture_model); !own.empty()) others.reset(quantity_index(own));
  Rows own = rows & ~others;
  if (spread_status(unit.fuel) == Status::provisional) own.set(spread);
  return own;
}

}  // namespace

Status status_of(const QuantityRow& row, const UnitTraits& unit) {
  if (row.status == Status::provisional) return Status::provisional;
  const Rows made_of = with_inputs(Rows().set(quantity_index(row.key)));
  return (made_of & provisional_rows(unit)).any() ? Status::provisional : Status::firm;
}

}  // namespace hakea::core
