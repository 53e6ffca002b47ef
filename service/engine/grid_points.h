// What a run says at any point of its grid: read from its files in the reader child when somebody asks, by the way that units
// are read. Only weather: what rests on fuel, slope or a prescription has no meaning at a free point. The values are those of
// the model's own ground there.
#pragma once

#include <array>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "ingest/arrival/reader_process.h"
#include "service/store/store.h"

namespace hakea::service {

// Quantities that need the weather alone.
inline constexpr std::array<std::string_view, 14> kPointQuantities{
    "air_temperature",      "dew_point_temperature",        "relative_humidity", "vapour_pressure_deficit",
    "wind_speed",           "wind_from_direction",          "wind_gust",         "precipitation_amount",
    "shortwave_radiation",  "cloud_area_fraction",          "surface_pressure",  "mixing_height",
    "transport_wind_speed", "transport_wind_from_direction"};

// What was noted of a run when it was read.
struct GridRun {
  UtcHour first;
  std::size_t hours = 0;
  double west = 0, south = 0, east = 0, north = 0;  // degrees; west > east across 180°
  std::vector<std::string> files;
  std::vector<std::size_t> quantities;  // those of kPointQuantities it has, by catalogue index

  UtcHour end() const { return first + static_cast<int>(hours); }
  // Whether the files are still there: a feed's folder is not ours.
  bool has_files() const;
};
// Nothing for a run that has no grid, or was never read whole.
std::optional<GridRun> grid_run(const RunRow& row);

struct GridPoint {
  core::UnitTraits place;
  core::UnitHours hours;  // kPointQuantities filled; no hours at all where the run has no value at the place
  double sampled_latitude = 0, sampled_longitude = 0;
  Metres model_elevation;
};

// One reader at a time; what was read last is kept. May be called from several threads.
class GridPoints {
 public:
  // Errors: `files_gone` (not_found), `too_slow`, and those of the reader.
  Result<std::shared_ptr<const GridPoint>> at(const ingest::Feed& feed, const RunRow& row, double latitude_deg,
                                              double longitude_deg);

 private:
  std::mutex reading_;
  std::vector<std::pair<std::string, std::shared_ptr<const GridPoint>>> kept_;  // by run and place, the last used first
};

}  // namespace hakea::service
