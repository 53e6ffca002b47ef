// Bringing fields of a file to points, reading each chunk that a point touches exactly once.
//
// A FieldPlan says what one variable means and how its dimensions stand; a Stencil says which cells a point needs with
// which weights. read_fields() walks the chunks of the variable, whatever their shape, decodes each needed one once and
// hands the sampled values on as slabs.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "core/base/result.h"
#include "core/weather/variables.h"
#include "ingest/format/netcdf_file.h"

namespace hakea::ingest {

// Up to four cells of the horizontal grid. Unused cells have weight 0. A point outside the grid has no cells.
struct Stencil {
  std::array<std::int32_t, 4> y{}, x{};
  std::array<float, 4> weight{};
  std::int8_t cells = 0;
};

// How raw numbers become values in the unit of the fed variable: missing is recognised in packed space, then
// value = (raw * scale + offset) * to_unit + unit_offset.
struct Decoding {
  double scale = 1, offset = 0;
  double to_unit = 1, unit_offset = 0;
  std::vector<double> missing;             // packed values that mean missing
  std::optional<double> valid_min, valid_max;  // packed space
  double lowest = 0, highest = 0;          // plausible range after conversion; outside is missing and counted
};

struct FieldPlan {
  core::Fed fed{};
  std::size_t file = 0, variable = 0;      // index into the run's files, the file's variables
  Decoding decoding;
  std::size_t grid = 0;                    // which stencils to use
  bool nearest = false;                    // take the heaviest cell instead of the weighted mean
  // Position in the variable's dimensions; -1 where it has none. A dimension with no role has length 1.
  int time_dim = -1, member_dim = -1, level_dim = -1, y_dim = -1, x_dim = -1;
  std::vector<std::int32_t> step_of_time;  // index into the run's steps for each index of the time dimension, -1 = not wanted
  std::vector<std::int32_t> level_of;      // index into the run's levels for each index of the level dimension, -1 = not wanted
  std::vector<std::int32_t> member_of;     // likewise for members
};

// Values of one field for a block of points and steps, in the unit of the fed variable, NaN where missing.
// values[((step * members + member) * levels + level) * points + point], counted inside the slab.
struct Slab {
  std::size_t field = 0;                   // index into the plans
  std::size_t first_step = 0, steps = 0;   // of the run's steps
  std::size_t first_point = 0, points = 0;
  std::size_t members = 1, levels = 1;
  std::vector<float> values;
};

struct FieldQuality {
  std::size_t implausible = 0;             // values outside the plausible range, dropped
  double lowest = 0, highest = 0;          // of the values kept at the points
  std::size_t missing = 0, values = 0;
};

using SlabSink = std::function<void(Slab&&)>;

// Reads the fields of one file. `stencils[grid][point]`. Slabs of fields on levels come one step at a time for all points
// and all fields on levels together, so that a profile is complete when its step has passed; a file chunked along time is
// buffered as far as that needs. Slabs of surface fields may come in any order.
Result<std::vector<FieldQuality>> read_fields(const NetcdfFile& file, const std::vector<FieldPlan>& plans,
                                              const std::vector<std::vector<Stencil>>& stencils, std::size_t run_steps,
                                              const SlabSink& sink);

}  // namespace hakea::ingest
