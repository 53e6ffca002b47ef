#include "core/catalogue/carry.h"

#include "core/catalogue/daily_states.h"
#include "core/catalogue/hourly_states.h"
#include "core/catalogue/litter_hours.h"
#include "core/catalogue/recent_rain.h"

namespace hakea::core {

Rows rows_of_states() {
  Rows states;
  for (std::size_t q = 0; q < catalogue().size(); ++q)
    if (const Nature nature = catalogue()[q].nature;
        nature == Nature::state || nature == Nature::daily || nature == Nature::daily_noon)
      states.set(q);
  return with_inputs(states);
}

std::optional<WetnessState> carried_state(const UnitHours& hours) {
  std::optional<WetnessState> state = wetness_after(wetness_record(hours));
  if (!state) return state;
  hand_on_codes(code_record(hours), *state);
  const UtcHour until = first_hour_from(hours.unit->zone.rain_day_end(state->as_of));
  hand_on_hourly_states(hours, until, *state);
  hand_on_daily_states(hours, *state);
  hand_on_recent_rain(hours, until, *state);
  if (has_litter_state(hours.unit->fuel)) {
    Column exposed(hours.hours), sheltered(hours.hours);
    walk_litter(hours, exposed, sheltered, until, &*state);
  }
  return state;
}

}  // namespace hakea::core
