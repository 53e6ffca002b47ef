// Bringing fields of a file to points, reading each chunk that a point touches exactly once.
//
// A FieldPlan says what one variable means and how its dimensions stand; a Stencil says which cells a point needs with
// which weights. read_fields() walks the chunks of the variables, whatever their shape, decodes each needed one exactly once
// (on two threads) and hands the sampled values on as slabs. The value at a point is the weighted mean of those of its cells
// that have a plausible value, as long as they hold half of the weight; else it is missing (atmosphere.md 7.4).
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <memory>
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
  std::vector<double> missing;                 // packed values that mean missing
  std::optional<double> valid_min, valid_max;  // packed space
  double lowest = 0, highest = 0;              // plausible range after conversion; outside is missing and counted
};

struct FieldPlan {
  core::Fed fed{};
  std::size_t file = 0, variable = 0;  // index into the run's files, the file's variables
  Decoding decoding;
  std::size_t grid = 0;  // which stencils to use
  bool nearest = false;  // take the heaviest cell instead of the weighted mean
  // Position in the variable's dimensions; -1 where it has none. A dimension with no role has length 1.
  int time_dim = -1, member_dim = -1, level_dim = -1, y_dim = -1, x_dim = -1;
  std::vector<std::int32_t> step_of_time;  // index into the run's steps for each index of the time dimension, -1 = not wanted
  std::vector<std::int32_t> level_of;      // index into the run's levels for each index of the level dimension, -1 = not wanted
  std::vector<std::int32_t> member_of;     // likewise for members; a single one without a dimension, none where it serves all
};

// What the slabs of a run are counted in.
struct RunShape {
  std::size_t steps = 0, members = 1, levels = 0;
};

using PointList = std::vector<std::int32_t>;

// Values of one field for some points and consecutive steps, in the unit of the fed variable, NaN where missing.
// values[((step * members + member) * levels + level) * points->size() + p], counted inside the slab, p in `points`.
struct Slab {
  std::size_t field = 0;                    // index into the plans
  std::size_t first_step = 0, steps = 0;    // of the run's steps
  std::shared_ptr<const PointList> points;  // which points, in no order; one list is shared by many slabs
  std::size_t members = 1, levels = 1;      // those of the run; 1 for a field without that dimension (see member_of)
  std::vector<float> values;
};

struct FieldQuality {
  std::size_t implausible = 0;          // values outside the plausible range, dropped
  double lowest = 0, highest = 0;       // of the values kept at the points, NaN when there are none
  std::size_t missing = 0, values = 0;  // `values` counts all, missing ones too
  std::size_t chunks = 0;               // how many were read
};

// What it leaves of a slab is filled again.
using SlabSink = std::function<void(Slab&&)>;

// Reads the fields plans[which[0]], plans[which[1]], …; files[plan.file] is open, files of other fields may be null.
// `stencils[grid][point]`. Returns one entry for each plan, empty for those not read.
//
// Order promised. Surface fields come first, each in slabs of any size and order. Then fields on levels, in groups: one slab
// of a single step for each of them that has this step, for the same points, one directly after the other in the order of
// `which`; a profile is complete when its group has passed, that is when the step or the list of points changes. For each
// point the steps ascend. Fields on levels that make up one profile must therefore be read in one call, though they may lie
// in several files. What is held meanwhile is the sampled values of one block of steps: as many steps as a chunk spans, for
// the points of one row of chunks.
//
// Errors: those of ChunkReader, `where` naming file and variable; what had come by then is void.
Result<std::vector<FieldQuality>> read_fields(const std::vector<const NetcdfFile*>& files, const std::vector<FieldPlan>& plans,
                                              const std::vector<std::size_t>& which,
                                              const std::vector<std::vector<Stencil>>& stencils, const RunShape& run,
                                              const SlabSink& sink);

}  // namespace hakea::ingest
