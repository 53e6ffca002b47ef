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

// What people posted of the weather.
struct PostedWeather {
  std::map<std::string, std::vector<EnteredReading>, std::less<>> readings;  // by unit, in the order they were entered
  std::vector<PostedStationPtr> stations;
};
// Where stations are, by name.
using StationPlaces = std::map<std::string, core::Site, std::less<>>;

// A station is where the last reading posted of it says, else where feeds have it (`places`); one whose place nobody told says
// nothing, and neither does what was read there of anything but the weather. Of stations only what was read from `from` on.
PostedWeather posted_weather(const std::vector<Entry>& observations, const StationPlaces& places, UtcTime from);

// Of an observation: the name of its station, or where it lies in place of one; empty where it is of a unit.
std::string station_name(const json::value& observation);

// The units whose weather an observation bears on: the one it names, or those within reach of its station. `picture` knows where
// stations are that it gives no place of.
std::set<std::string> heeding_units(const json::value& observation, const Snapshot& picture);

// What of it bears on a unit: its own readings, and stations within reach.
EnteredWeather entered_for(const PostedWeather& posted, const Unit& unit);
// The same of all that a picture has, however old.
EnteredWeather entered_for(const Snapshot& picture, const Unit& unit);

}  // namespace hakea::service
