#include "service/engine/run_weather.h"

#include <algorithm>
#include <limits>

#include "service/engine/reading_share.h"

namespace hakea::service {
namespace {

constexpr UtcHour kKeepAll{std::numeric_limits<std::int32_t>::max() / 2};

std::vector<core::Site> sites_of_stations(const ingest::RunPlan& plan) {
  std::vector<core::Site> sites;
  for (std::size_t s = 0; s < plan.stations.size(); ++s) {
    core::Site& site = sites.emplace_back();
    site.latitude_deg = plan.sampled_at[s].latitude_deg;
    site.longitude_deg = plan.sampled_at[s].longitude_deg;
    site.elevation = Metres(static_cast<double>(plan.model_elevation_m[s]));
  }
  return sites;
}

std::shared_ptr<const SeenFile> seen_file(const RunColumns& columns) {
  auto file = std::make_shared<SeenFile>();
  file->plan = columns.plan();
  const std::vector<core::Site> sites = sites_of_stations(file->plan);
  for (std::size_t s = 0; s < sites.size(); ++s) {
    file->stations.emplace_back(columns, s, 0, sites[s]);
    file->stations.back().share_marks_of(file->stations.front());
  }
  return file;
}

}  // namespace

std::vector<UnitRunPtr> RunBlock::at(const Unit& unit, std::size_t first_point) const {
  std::vector<UnitRunPtr> runs;
  for (const auto& file : seen_)
    runs.push_back(std::make_shared<UnitRun>(observed_run(*feed_, order_, file->plan, file->stations, unit, first_point)));
  for (const auto& [columns, begin] : runs_)
    runs.push_back(std::make_shared<UnitRun>(unit_run(*feed_, order_, *columns, unit, first_point - begin)));
  return runs;
}

RunWeather::RunWeather(std::vector<RunColumns> runs) : feed_(std::make_shared<ingest::Feed>()) {
  HAKEA_EXPECT(!runs.empty());
  for (RunColumns& run : runs) runs_.push_back({std::make_shared<RunColumns>(std::move(run)), nullptr, nullptr, kKeepAll, {}});
}

Result<RunWeather> RunWeather::read(const ingest::Feed& feed, const std::vector<std::vector<std::string>>& runs,
                                    const std::vector<core::Site>& points, const RunReading& how, std::size_t order) {
  HAKEA_EXPECT(!runs.empty());
  std::vector<ingest::PointOfInterest> places;
  for (const core::Site& point : points) places.push_back({point.latitude_deg, point.longitude_deg, point.elevation.value()});
  RunWeather weather;
  weather.feed_ = std::make_shared<ingest::Feed>(feed);
  weather.order_ = order;
  weather.points_ = points;
  weather.how_ = how;
  weather.how_.tell = nullptr, weather.how_.on_plan = nullptr,
  weather.how_.on_slab = nullptr;  // they are the caller's, for now only
  if (how.block_ends.empty()) weather.how_.block_ends = {points.size()};

  // Newest first: it says which hours of the older ones are still of use.
  std::optional<UtcTime> newest;
  UtcHour newest_begins = kKeepAll;
  int judged = 0;  // runs that are, together
  for (auto files = runs.rbegin(); files != runs.rend(); ++files) {
    Held held{nullptr, nullptr, nullptr, kKeepAll, {}};
    std::shared_ptr<RunColumns> columns;
    std::shared_ptr<SlabSpool> spool;
    const auto number = static_cast<std::size_t>(files - runs.rbegin()) + 1;
    ReadingShare share(places.size(), [&](double read) {
      if (how.tell) how.tell(number, runs.size(), read);
    });
    auto read = ingest::read_run(
        feed, *files, places, how.limits,
        {[&](const ingest::RunPlan& plan) {
           if (how.on_plan) how.on_plan(plan);
           share.on_plan(plan);
           const bool is_judged =
               feed.observed || !newest || (judged < feed.lagged_runs && *newest - plan.reference_time <= kLongestLag);
           held.keep_before = is_judged ? kKeepAll : newest_begins;
           const double bytes = RunColumns::bytes_of(plan, points.size(), how.all_members);
           const bool is_too_large = !feed.observed && how.all_members && plan.members > 1 && bytes > how.held_bytes;
           columns = is_too_large ? nullptr
                                  : std::make_shared<RunColumns>(feed.observed ? sites_of_stations(plan) : points,
                                                                 how.all_members, held.keep_before, how.asked);
           spool = is_too_large ? std::make_shared<SlabSpool>(weather.how_.block_ends) : nullptr;
           if (columns)
             columns->on_plan(plan);
           else
             spool->on_plan(plan);
         },
         [&](ingest::Slab&& slab) {
           if (how.on_slab) how.on_slab(slab);
           share.on_slab(slab);
           if (columns)
             columns->on_slab(std::move(slab));
           else
             spool->on_slab(slab);
         }},
        how.asked.left_out);
    Errors errors;
    if (!read)
      errors = read.errors();
    else if (auto finished = columns ? columns->finish() : spool->finish(); !finished)
      errors = finished.errors();
    const bool is_newest = weather.runs_.empty() && (files == runs.rbegin() || feed.observed);
    if (!errors.empty() && (feed.observed ? weather.runs_.empty() && files + 1 == runs.rend() : is_newest)) return errors;
    if (!errors.empty()) {
      weather.left_out_.insert(weather.left_out_.end(), errors.begin(), errors.end());
      continue;
    }
    if (feed.observed)
      held.seen = seen_file(*columns);
    else
      held.columns = columns;
    held.spool = spool;
    held.quality = std::move(*read);
    if (held.keep_before == kKeepAll) ++judged;
    if (is_newest) {
      newest = held.plan().reference_time;
      newest_begins = ingest::hours_of(held.plan()).first;
      if (feed.hours) newest_begins = std::max(newest_begins, UtcHour::of(*newest) + feed.hours->first);
    }
    weather.runs_.push_back(std::move(held));
  }
  std::reverse(weather.runs_.begin(), weather.runs_.end());
  return weather;
}

std::vector<std::pair<const ingest::RunPlan*, const std::vector<ingest::FieldQuality>*>> RunWeather::qualities() const {
  std::vector<std::pair<const ingest::RunPlan*, const std::vector<ingest::FieldQuality>*>> all;
  for (const Held& held : runs_) all.emplace_back(&held.plan(), &held.quality);
  return all;
}

Result<RunBlock> RunWeather::block(std::size_t block) const {
  RunBlock made;
  made.feed_ = feed_.get();
  made.order_ = order_;
  for (const Held& held : runs_) {
    if (held.seen) {
      made.seen_.push_back(held.seen);
      continue;
    }
    if (held.columns) {
      made.runs_.emplace_back(held.columns, 0);
      continue;
    }
    const std::size_t begin = block == 0 ? 0 : how_.block_ends[block - 1], end = how_.block_ends[block];
    auto columns = std::make_shared<RunColumns>(std::vector<core::Site>(points_.begin() + static_cast<std::ptrdiff_t>(begin),
                                                                        points_.begin() + static_cast<std::ptrdiff_t>(end)),
                                                how_.all_members, held.keep_before, how_.asked);
    if (auto told = held.spool->tell(block, *columns); !told) return told.errors();
    made.runs_.emplace_back(std::move(columns), begin);
  }
  return made;
}

}  // namespace hakea::service
