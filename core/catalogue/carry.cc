#include "core/catalogue/carry.h"

#include "core/catalogue/litter_hours.h"

namespace hakea::core {

std::optional<WetnessState> carried_state(const UnitHours& hours) {
  std::optional<WetnessState> state = wetness_after(wetness_record(hours));
  if (state && hours.unit->fuel.moisture_model == MoistureModel::eucalypt_litter) {
    Column exposed(hours.hours), sheltered(hours.hours);
    walk_litter(hours, exposed, sheltered, first_hour_from(hours.unit->zone.rain_day_end(state->as_of)), &*state);
  }
  return state;
}

}  // namespace hakea::core
