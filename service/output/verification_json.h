// What became of forecasts, as JSON.
#pragma once

#include <map>
#include <string>

#include "service/engine/verification.h"
#include "service/input/unit_json.h"
#include "service/output/json_writer.h"

namespace hakea::service {

// {"unit","from","to","observed_by":[…],"left_aside":[…],"scores":[…],"windows":[…]}: who saw it, of stations with their
// distance; limits that nobody's measurements answer; scores by feed, quantity, lead, season and three hours of the local day;
// windows by feed and lead. What rests on shares of windows is null until enough days have been verified.
void write_verification(JsonWriter& out, const Unit& unit, const Verification* verification);

// {"district","units":[…],"windows":[…]}: of several units together; `units` by id, those that have been verified.
void write_verification(JsonWriter& out, const std::string& district, const std::map<std::string, const Verification*>& units);

}  // namespace hakea::service
