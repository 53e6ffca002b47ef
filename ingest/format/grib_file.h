// The fields of a GRIB file as ecCodes names them, and their values. The only door to ecCodes.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"

namespace hakea::ingest {

// Over which time a value is taken.
enum class GribStep : std::uint8_t { instant, accum, avg, max, min, other };
// In ecCodes' words, which names of variables take too; in the order of the enumeration.
inline constexpr std::array<std::string_view, 6> kGribSteps{"instant", "accum", "avg", "max", "min", "other"};
constexpr std::string_view word(GribStep step) { return kGribSteps[static_cast<std::size_t>(step)]; }

struct GribField {
  std::size_t number = 0;  // in the file, from 0; several may share a message
  std::string name, long_name, unit;
  std::string standard_name;  // empty where ecCodes knows none, or where the level makes it doubtful
  UtcTime reference{}, begin{}, end{};
  GribStep step = GribStep::instant;
  int member = -1;  // none is stated
  bool is_on_pressure = false, has_height = false, is_along_grid = false;
  double level = 0;  // hPa, or m above the ground
  std::size_t grid = 0;
};

// Points in rows. `latitude` and `longitude` have a value a row and a column for a regular grid, else one a point.
struct GribGrid {
  std::size_t rows = 0, columns = 0;
  bool is_regular = false;
  std::vector<double> latitude, longitude;
};

struct GribContents {
  int edition = 0;  // 0: both
  std::vector<GribField> fields;
  std::vector<GribGrid> grids;
  struct PassedOver {
    GribField field;
    std::string why;
  };
  std::vector<PassedOver> passed_over;  // fields whose points do not stand in rows and columns
};

// Reads all fields' descriptions. Errors: "damaged"; "unsupported" where no field stands on a grid that can be used.
Result<GribContents> grib_contents(int descriptor, const std::string& path);

// Decodes the fields in the order of the file; missing values are NaN, rows and columns in the order of the grid.
using GribValues = std::function<void(const GribField&, const std::vector<float>&)>;
Result<bool> decode_grib(int descriptor, const std::string& path, const GribContents& contents, const GribValues& values);

}  // namespace hakea::ingest
