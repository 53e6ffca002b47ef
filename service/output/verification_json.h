// What became of forecasts, as JSON.
#pragma once

#include "service/engine/verification.h"
#include "service/input/unit_json.h"
#include "service/output/json_writer.h"

namespace hakea::service {

// {"unit","from","to","observed_by":[…],"scores":[…],"windows":[…]}: who saw it, of stations with their distance; scores by feed,
// quantity, lead, season and three hours of the local day; windows by feed and lead. A share in percent, and what rests on
// shares, is null until enough days have been verified.
void write_verification(JsonWriter& out, const Unit& unit, const Verification* verification);

}  // namespace hakea::service
