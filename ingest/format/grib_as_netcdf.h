// A GRIB file as NetCDF: its fields laid out after the CF conventions in a file without a name, which is read as any other.
//
// What GRIB says by tables - parameter, level, step, member, grid - becomes variables with names,
// units, coordinates, bounds and cell methods; what fields mean for us is decided afterwards, by ingest/cf, as for NetCDF.
//
//   name        ecCodes' short name ("2t", "tp"); with the level's type where that is no usual one for it ("t_tropopause",
//               "t_hybrid_1"); "param_2_221" (table and number) or "param_0_3_196" (discipline, category and number; GRIB2)
//               for parameters that ecCodes does not know, so that a feed's aliases can say what they are. Averages and the
//               like of unknown parameters, and of known ones that also come as instants, carry "_avg", "_accum", …; means and
//               spreads of an ensemble
//               "_of_members", rates of rain at an instant "_now"
//   axes        regular grids by latitude and longitude, all others by latitude and longitude of every point; scanning order
//               is undone
//   winds       along the grid's axes are called x_wind and y_wind; every variable whose components stand along the grid has
//               the attribute GRIB_uvRelativeToGrid, for names that only a feed's aliases explain
//   other grids reduced Gaussian grids, coefficients of waves: passed over, field by field; one variable without dimensions says
//   so
#pragma once

#include <cstdint>
#include <string>

#include "core/base/result.h"

namespace hakea::ingest {

// What of the fields is laid out: everything, or all but their values, which costs no decoding and is enough to see what a file
// holds. Values that were left out read as zeros.
enum class GribCopy : std::uint8_t { whole, headers };

// The attribute of a variable of the copy that stands for fields which are passed over, and says why.
inline constexpr const char* kUnreadableAttribute = "unreadable";

struct GribAsNetcdf {
  int descriptor = -1;  // open for reading, the caller's to close
  std::string format;   // "grib1", "grib2", "grib1 and grib2"
};

// `descriptor` is a whole GRIB file (check_whole); `path` is for messages. Errors: "damaged" (a message that cannot be
// decoded, named by its number), "mixed_runs" (several reference times with steps), "unsupported" (no grid of points in rows),
// "unwritable" (no room for the copy).
Result<GribAsNetcdf> grib_as_netcdf(int descriptor, const std::string& path, GribCopy what = GribCopy::whole);

}  // namespace hakea::ingest
