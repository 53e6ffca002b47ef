// Observations of stations as a table: `station,time_utc,latitude [deg],longitude [deg],elevation [m]`, then what was
// measured, as fed keys with UCUM units in brackets; one row an hour and station. It is laid out as a NetCDF file of time
// series (CF 9), which is read as any other. Amounts and gusts are those of the hour that begins at the row's time.
#pragma once

#include <string>
#include <string_view>

#include "core/base/result.h"

namespace hakea::ingest {

// Whether a text begins as such a table does.
bool is_station_table(std::string_view head);

// `descriptor` is open for reading. Returns that of a file without a name, the caller's to close. Errors: those of
// read_weather_csv(), `no_place` (a station that states none, or moves), `unwritable`.
Result<int> station_table_as_netcdf(int descriptor, const std::string& path);

}  // namespace hakea::ingest
