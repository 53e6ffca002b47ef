// What a file holds, as `hakea inspect` tells it (INTERFACE §5): accepted or refused with reasons, times, grid, variables
// with their range over the whole file, what it leaves uncomputable, and the values at a point.
#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"
#include "ingest/run/forecast_run.h"

namespace hakea::ingest {

// A quantity and the fed keys it rests on.
struct QuantityNeeds {
  std::string quantity;
  std::vector<std::string> needs;
};

struct Inspection {
  std::string file, format;  // format: "netcdf-4", …; "unknown" where the file cannot be opened
  bool accepted = false;     // at least one quantity can be used
  std::vector<Refusal> refused;
  std::optional<UtcTime> reference_time;
  struct Times {
    std::optional<UtcTime> first, last;
    std::size_t count = 0;
    std::optional<double> step_h;  // none where the steps differ
  } times;
  std::optional<GridReport> grid;  // of the first quantity
  std::size_t members = 1;
  struct Variable {
    // Quantity and its unit as delivered; empty, and the file's unit, where it means nothing here.
    std::string name, quantity, unit;
    std::size_t levels = 1;
    std::optional<double> min, max;  // over all cells, times, levels and members
    std::size_t missing = 0;         // values missing or implausible
  };
  std::vector<Variable> variables;
  std::vector<QuantityNeeds> missing_for;  // quantities that cannot be computed, and what they would need from the feed
  struct At {
    double latitude_deg = 0, longitude_deg = 0;
    std::map<std::string, std::vector<float>> values;  // by quantity, by time of the file (member 0, surface), NaN = missing
    std::string note;                                  // "outside the grid"
  };
  std::optional<At> at;
  std::vector<std::string> notes;
};

// Reads the file in this process; says which of `quantities` it leaves uncomputable. Never an error: what is wrong with the file
// is in `refused`.
Inspection inspect(const Feed& feed, const std::string& file, std::optional<PointOfInterest> at,
                   std::span<const QuantityNeeds> quantities);

}  // namespace hakea::ingest
