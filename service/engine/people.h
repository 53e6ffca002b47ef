// What people entered, read from the store into the parts of a picture.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "service/engine/snapshot.h"
#include "service/engine/weather_record.h"

namespace hakea::service {

// Stops, bookings, observations and districts, whole. What cannot be read is left out and said in `troubles`: a stop that
// no longer reads right must not take the service down with it, and must not pass in silence.
Result<bool> read_districts(Store& store, Snapshot& picture, std::vector<std::string>& troubles);

// The entered part of a unit's view, from its own entry and those of its prescriptions; weather and days are empty. Null and
// a trouble where they do not read right.
std::shared_ptr<UnitView> read_unit(const Entry& unit, const std::vector<Entry>& prescriptions, const FuelTable& fuels,
                                    std::vector<std::string>& troubles);

// The unit of a view as it is at a time: fuel that has burnt since it was described grows older by the day.
void count_fuel_age(UnitView& view, const FuelTable& fuels, UtcTime now);

// The readings by unit, in the order they were entered: of one hour and quantity the later one counts.
std::map<std::string, std::vector<EnteredReading>, std::less<>> readings_of(const std::vector<Entry>& observations);

}  // namespace hakea::service
