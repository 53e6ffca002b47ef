#include "service/engine/run_weather.h"

#include <algorithm>
#include <limits>

#include "service/engine/reading_share.h"
#include "service/engine/unit_series.h"

namespace hakea::service {

RunWeather::RunWeather(std::vector<RunColumns> runs) : runs_(std::move(runs)) {
  HAKEA_EXPECT(!runs_.empty());
  const RunColumns& newest = runs_.back();
  first_ = newest.first();
  for (const RunColumns& run : runs_)
    if (run.hours() > 0 && run.first() < first_) first_ = run.first();
  hours_ = static_cast<std::size_t>(newest.first() - first_) + newest.hours();
}

Result<RunWeather> RunWeather::read(const ingest::Feed& feed, const std::vector<std::vector<std::string>>& runs,
                                    const std::vector<core::Site>& points, const RunReading& how) {
  HAKEA_EXPECT(!runs.empty());
  std::vector<ingest::PointOfInterest> places;
  for (const core::Site& point : points) places.push_back({point.latitude_deg, point.longitude_deg});

  // Newest first: it says which hours of the older ones are still of use.
  std::vector<RunColumns> read_runs;
  std::vector<ingest::FieldQuality> quality;
  Errors left_out;
  UtcHour keep_before{std::numeric_limits<std::int32_t>::max() / 2};
  for (auto files = runs.rbegin(); files != runs.rend(); ++files) {
    RunColumns run(points, how.all_members, keep_before);
    const auto number = static_cast<std::size_t>(files - runs.rbegin()) + 1;
    ReadingShare share(places.size(), [&](double read) {
      if (how.tell) how.tell(number, runs.size(), read);
    });
    auto read = ingest::read_run(feed, *files, places, how.limits,
                                 {[&](const ingest::RunPlan& plan) {
                                    run.on_plan(plan);
                                    share.on_plan(plan);
                                  },
                                  [&](ingest::Slab&& slab) {
                                    share.on_slab(slab);
                                    run.on_slab(std::move(slab));
                                  }});
    Errors errors;
    if (!read)
      errors = read.errors();
    else if (auto finished = run.finish(); !finished)
      errors = finished.errors();
    if (files == runs.rbegin()) {
      if (!errors.empty()) return errors;
      quality = std::move(*read);
      keep_before = run.first();
    } else if (!errors.empty()) {
      left_out.insert(left_out.end(), errors.begin(), errors.end());
      continue;
    }
    read_runs.push_back(std::move(run));
  }
  std::reverse(read_runs.begin(), read_runs.end());
  RunWeather weather(std::move(read_runs));
  weather.quality_ = std::move(quality);
  weather.left_out_ = std::move(left_out);
  return weather;
}

template <class Visit>
void RunWeather::sources(UtcHour hour, std::size_t member, Visit&& visit) const {
  const bool is_newest = hour >= runs_.back().first();
  for (auto run = runs_.rbegin(); run != runs_.rend(); ++run) {
    if (hour >= run->first() && hour - run->first() < static_cast<int>(run->hours()))
      if (!visit(Source{&*run, static_cast<std::size_t>(hour - run->first()), member < run->members() ? member : 0})) return;
    if (is_newest) return;
  }
}

core::UnitHours RunWeather::unit_hours(std::size_t point, std::size_t member, const core::UnitTraits& unit) const {
  core::UnitHours hours(unit, first_, hours_);
  FedColumns fed(hours);
  for (std::size_t i = 0; i < hours_; ++i) {
    bool covered = false;
    sources(first_ + static_cast<int>(i), member, [&](const Source& source) {
      covered = true;
      return !fed.take(i, at_unit(hour_of(*source.run, point, source.member, source.hour), source.run->model_elevation(point),
                                  unit.site.elevation));
    });
    if (!covered) fed.leave_gap(i);
  }
  return hours;
}

}  // namespace hakea::service
