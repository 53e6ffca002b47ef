// The stations of files that say what was observed: they are the points of such a run, those of them that are near enough to
// the points that somebody asked for.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "ingest/format/netcdf_file.h"
#include "ingest/grid/grid.h"
#include "ingest/run/forecast_run.h"

namespace hakea::ingest {

// Stations that lie along one dimension of a file.
struct StationRow {
  std::size_t grid = 0;                   // of the run
  std::vector<std::string> names;         // by place along it
  std::vector<PointOfInterest> stations;  // elevation NaN where it is not known
};
// None where the grid is not one of places.
std::optional<StationRow> station_row(std::size_t grid, const Grid& places, const NetcdfFile& file,
                                      std::optional<std::size_t> dimension, const std::vector<double>& elevations);

struct ChosenStations {
  std::vector<PointOfInterest> sites;  // by point of the run
  std::vector<std::string> names;
  std::vector<std::size_t> grids, places;  // where each lies: the grid, and the place in its row
  std::vector<PointList> near;             // by point asked for: points of the run, the nearest first
  Stencil stencil(std::size_t point, std::size_t grid) const;
};
ChosenStations stations_near(const std::vector<StationRow>& rows, const std::vector<PointOfInterest>& points);

}  // namespace hakea::ingest
