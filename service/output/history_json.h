// What past hours say of a unit's prescription: the `history` of INTERFACE §5 as JSON.
#pragma once

#include "core/days/history.h"
#include "service/input/unit_json.h"
#include "service/output/json_writer.h"

namespace hakea::service {

// Limits are given by their number in the prescription, from 0. Beside the members of the interface: the span and the met
// dates, days that nobody can tell, and the rarity, null before a year is known.
void write_history(JsonWriter& out, const Unit& unit, const core::History& history);

}  // namespace hakea::service
