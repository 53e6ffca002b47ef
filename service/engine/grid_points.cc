#include "service/engine/grid_points.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <stdexcept>

#include "core/catalogue/catalogue.h"
#include "service/base/clock.h"
#include "service/engine/run_weather.h"
#include "service/input/json.h"

namespace hakea::service {
namespace {

// A caller waits for it [our own defaults].
constexpr double kMostSeconds = 20;
constexpr ingest::ReadLimits kLimits{.seconds = 10, .cpu_seconds = 20, .memory_mb = 2048};
constexpr std::size_t kPointsKept = 64;

struct TooSlow : std::runtime_error {
  TooSlow() : std::runtime_error("reading took too long") {}
};

core::Rows point_rows() {
  core::Rows rows;
  for (const std::string_view key : kPointQuantities) rows.set(core::quantity_index(key));
  return rows;
}

Result<std::shared_ptr<const GridPoint>> read_point(const ingest::Feed& feed, const GridRun& run, double latitude_deg,
                                                    double longitude_deg) {
  auto point = std::make_shared<GridPoint>();
  point->place.site.latitude_deg = latitude_deg;
  point->place.site.longitude_deg = longitude_deg;
  point->place.site.elevation = Metres::missing();  // nothing is moved from the model's ground
  Unit unit;
  unit.traits = point->place;
  unit.points = {point->place};
  const Stopwatch watch;
  RunReading how{.all_members = false, .block_ends = {}, .limits = kLimits};
  const auto go_on = [&] {
    if (watch.seconds() > kMostSeconds) throw TooSlow();
  };
  how.on_plan = [&](const ingest::RunPlan&) { go_on(); };
  how.on_slab = [&](const ingest::Slab&) { go_on(); };
  std::vector<UnitRunPtr> runs;
  try {
    const auto weather = RunWeather::read(feed, {run.files}, {point->place.site}, how);
    if (!weather) return weather.errors();
    const auto block = weather->block(0);
    if (!block) return block.errors();
    runs = block->at(unit, 0);
  } catch (const TooSlow&) {  // the child ends with what held it
    return Error{ErrorKind::failed, "too_slow", feed.id,
                 fmt::format("reading the run at a point took more than {} s", kMostSeconds),
                 "ask again later, or ask for a unit: its hours are at hand"};
  }
  if (!runs.back()->is_at_hand()) return std::shared_ptr<const GridPoint>(std::move(point));
  const UnitSeries& series = runs.back()->at(0, 0);
  point->sampled_latitude = series.sampled_latitude();
  point->sampled_longitude = series.sampled_longitude();
  point->model_elevation = series.model_elevation();
  const UnitWeatherRecord record({runs.back()}, {});
  point->hours = record.point_hours(unit, 0, 0, std::nullopt);
  point->hours.unit = &point->place;
  core::compute_all(point->hours, point_rows());
  return std::shared_ptr<const GridPoint>(std::move(point));
}

}  // namespace

bool GridRun::has_files() const {
  return std::all_of(files.begin(), files.end(), [](const std::string& file) {
    std::error_code ignored;
    return std::filesystem::exists(file, ignored);
  });
}

std::optional<GridRun> grid_run(const RunRow& row) {
  const auto details = parse_json(row.details, row.id);
  if (!details || !details->is_object()) return std::nullopt;
  const json::object& noted = details->get_object();
  const json::value *files = noted.if_contains("files"), *grid = noted.if_contains("grid");
  if (!files || !grid || !grid->is_object()) return std::nullopt;
  GridRun run;
  Errors mistakes;
  JsonObject of_grid(*grid, "/grid", mistakes);
  const auto first = of_grid.instant("first");
  const auto hours = of_grid.whole_number("hours", 1, std::numeric_limits<int>::max());
  const auto west = of_grid.number("west"), south = of_grid.number("south"), east = of_grid.number("east"),
             north = of_grid.number("north");
  const json::array* keys = of_grid.list("quantities");
  if (!mistakes.empty() || !first || !hours || !west || !south || !east || !north || !keys || !files->is_array())
    return std::nullopt;
  run.first = UtcHour::of(*first);
  run.hours = static_cast<std::size_t>(*hours);
  run.west = *west, run.south = *south, run.east = *east, run.north = *north;
  for (const json::value& file : files->get_array())
    if (file.is_string()) run.files.emplace_back(file.get_string());
  for (const json::value& key : *keys)
    if (const auto q = key.is_string() ? core::find_quantity(key.get_string()) : std::nullopt) run.quantities.push_back(*q);
  if (run.files.empty() || run.quantities.empty()) return std::nullopt;
  return run;
}

Result<std::shared_ptr<const GridPoint>> GridPoints::at(const ingest::Feed& feed, const RunRow& row, double latitude_deg,
                                                        double longitude_deg) {
  const std::string key = fmt::format("{} {} {} {}", row.id, row.content_hash, latitude_deg, longitude_deg);
  const std::lock_guard lock(reading_);
  const auto known = std::find_if(kept_.begin(), kept_.end(), [&](const auto& kept) { return kept.first == key; });
  if (known != kept_.end()) {
    std::rotate(kept_.begin(), known, known + 1);
    return kept_.front().second;
  }
  const auto run = grid_run(row);
  if (!run || !run->has_files())
    return Error{ErrorKind::not_found, "files_gone", row.id, fmt::format("the files of {} are no longer there", row.id),
                 "ask for a newer run"};
  auto point = read_point(feed, *run, latitude_deg, longitude_deg);
  if (!point) return point;
  kept_.insert(kept_.begin(), {key, *point});
  if (kept_.size() > kPointsKept) kept_.pop_back();
  return point;
}

}  // namespace hakea::service
