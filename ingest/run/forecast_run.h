// From files to one run: which variable of which file is which quantity at which time, level, member and place.
//
// plan_run() reads only headers and coordinates. It finds meaning by CF role, never by position; what it cannot trust it
// refuses, one refusal a variable, naming file, variable, what was found and what would do.
#pragma once

#include <algorithm>
#include <limits>
#include <memory>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"
#include "core/weather/variables.h"
#include "ingest/feed.h"
#include "ingest/grid/sample.h"

namespace hakea::ingest {

struct PointOfInterest {
  double latitude_deg = 0, longitude_deg = 0;
  double elevation_m = std::numeric_limits<double>::quiet_NaN();  // where it is known
};

struct Refusal {
  std::string file, variable;
  std::string why;     // what was found
  std::string hint;    // what would be accepted; where it helps, a feed alias ready to paste
  std::string code{};  // of the error it comes from, where it comes from one
};

// What one step of a run is for a field: the instant, or the interval an amount, mean or extreme belongs to.
struct StepTime {
  UtcTime begin, end;  // equal for instants
};

// What was learnt about a variable, for `inspect`.
struct VariableReport {
  std::string file, name, quantity;  // quantity: fed key, empty when it means nothing to us
  std::string unit;                  // as the file says it
  std::size_t levels = 0;
};

struct GridReport {
  std::string kind;  // "latitude_longitude", "gaussian", "lambert_conformal", "rotated_pole", "curvilinear", …
  std::size_t nx = 0, ny = 0;
  double south = 0, north = 0, west = 0, east = 0;
};

// How the amounts of a field are counted in its file.
enum class Accumulation : std::uint8_t { none, per_step, since_start, rate };

// Whether a feed's land mask has sea by a point, as far away as land is looked for; unknown without a mask.
enum class Sea : std::uint8_t { unknown, none, near };

// A run is a forecast, or a record of what was; what lies further apart is a damaged time.
inline constexpr std::chrono::hours kLongestRun{24 * 366 * 100};

struct RunPlan {
  UtcTime reference_time{};
  std::vector<UtcTime> steps;      // ascending instants; for amounts the end of the interval
  std::vector<double> levels_hpa;  // descending pressure (from the ground up)
  std::size_t members = 1;
  std::vector<std::string> files;
  std::vector<FieldPlan> fields;
  std::vector<std::vector<StepTime>>
      field_times;                         // by field, by step; begin == end == UtcTime::min() where the field has no such step
  std::vector<Accumulation> accumulation;  // by field
  std::vector<std::vector<Stencil>> stencils;  // by grid, by point
  // Of what was observed the points are the stations near the points that were asked for: their names, and by point asked for
  // those that speak for it, the nearest first (station/nearest.h).
  std::vector<std::string> stations;
  std::vector<PointList> near;
  std::vector<float> wind_rotation_deg;     // by point: add to directions of grid-relative winds; 0 for earth-relative
  std::vector<float> model_elevation_m;     // by point; NaN where no orography is at hand
  std::vector<PointOfInterest> sampled_at;  // by point: the heaviest cell
  std::vector<Sea> sea;                     // by point
  std::vector<Refusal> refusals;
  std::vector<VariableReport> variables;
  std::vector<GridReport> grids;
  std::vector<std::string> notes;  // assumptions made, each a plain sentence and told once

  void note(std::string sentence);
  std::string file_name(std::size_t file) const;  // without its folder
};

// What nobody asks of a run: such fields stand in its plan, and are not read. Of a run without levels less may be asked, since
// nothing is made of its surface fields together with them.
struct LeftOut {
  std::vector<core::Fed> always, without_levels;
  std::uint32_t hours_with_levels = kWholeDay;  // hours of the UTC day for which levels are asked at all, bit by hour

  static constexpr std::uint32_t kWholeDay = (1U << 24) - 1;
  bool has_levels_of(UtcHour hour) const { return (hours_with_levels >> ((hour.count % 24 + 24) % 24) & 1) == 0; }
  bool has(core::Fed fed, const RunPlan& run) const {
    const bool has_levels = std::any_of(run.fields.begin(), run.fields.end(),
                                        [](const FieldPlan& field) { return core::describe(field.fed).on_levels; });
    const std::vector<core::Fed>& out = has_levels ? always : without_levels;
    return std::find(out.begin(), out.end(), fed) != out.end();
  }
};

// All files must be of one reference time. Errors only where nothing at all can be read.
Result<RunPlan> plan_run(const Feed& feed, const std::vector<std::string>& files, const std::vector<PointOfInterest>& points);

// The reference time of a file, to sort files into runs.
Result<UtcTime> reference_time_of(const Feed& feed, const std::string& file);

}  // namespace hakea::ingest
