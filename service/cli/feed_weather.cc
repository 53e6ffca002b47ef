#include "service/cli/feed_weather.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <tuple>

#include "ingest/station/nearest.h"
#include "service/cli/arguments.h"
#include "service/engine/arrivals.h"

namespace hakea::service {
namespace {

// The stations that speak for a unit, each once a point.
void add_stations(const RunWeather& weather, const Unit& unit, std::size_t first_point, std::vector<SamplingNote>& notes) {
  std::set<std::tuple<std::size_t, std::string, double, double>> told;
  for (const auto& [plan, quality] : weather.qualities())
    for (std::size_t p = 0; p < unit.points.size(); ++p)
      for (const std::int32_t near : plan->near[first_point + p]) {
        const auto station = static_cast<std::size_t>(near);
        const ingest::PointOfInterest& at = plan->sampled_at[station];
        const core::Site& place = unit.points[p].site;
        if (!told.emplace(p, plan->stations[station], at.latitude_deg, at.longitude_deg).second) continue;
        notes.push_back({.feed = weather.feed().id,
                         .latitude_deg = at.latitude_deg,
                         .longitude_deg = at.longitude_deg,
                         .model_elevation = Metres(static_cast<double>(plan->model_elevation_m[station])),
                         .unit_elevation = place.elevation,
                         .station = plan->stations[station],
                         .distance_km = ingest::distance_km({place.latitude_deg, place.longitude_deg, 0},
                                                            {at.latitude_deg, at.longitude_deg, 0})});
      }
}

}  // namespace

Result<FeedWeather> FeedWeather::read(const std::vector<ingest::Feed>& feeds, std::vector<FeedRuns> found,
                                      const std::vector<Unit>& units, bool with_hours, TerminalLine& line) {
  FeedWeather all;
  all.units_ = units;
  std::vector<core::Site> points;
  RunReading how{.all_members = true, .block_ends = {}, .limits = {}};
  for (std::size_t u = 0; u < units.size(); ++u) {
    if (u > 0 && u % kBatch == 0) how.block_ends.push_back(points.size());
    all.first_point_.push_back(points.size());
    for (const core::UnitTraits& point : units[u].points) points.push_back(point.site);
  }
  how.block_ends.push_back(points.size());

  Errors lost;
  for (std::size_t order = 0; order < feeds.size(); ++order) {
    const ingest::Feed& feed = feeds[order];
    FeedRuns& runs = found[order];
    complain(runs.left_out);
    if (runs.files.empty()) {
      if (feeds.size() > 1)
        complain({ErrorKind::incomplete, "no_run", feed.id, "none of its files could be read as part of a forecast run",
                  "`hakea inspect FILE` says what is in a file"});
      continue;
    }
    how.tell = [&](std::size_t run, std::size_t of, double share) {
      // The newest is read first.
      line.show(fmt::format("reading {}", run_id(feed.id, runs.reference_times[of - run])), share);
    };
    if (!with_hours) how.asked = asked_of_run(units, feeds.size() == 1 && runs.files.size() == 1);
    auto weather = RunWeather::read(feed, runs.files, points, how, order);
    line.clear();
    if (!weather) {
      lost.insert(lost.end(), weather.errors().begin(), weather.errors().end());
      continue;
    }
    all.feeds_.push_back({*std::move(weather), std::move(runs.reference_times), std::move(runs.files.back())});
    all.tell_of(all.feeds_.back());
  }
  const bool has_forecast =
      std::any_of(all.feeds_.begin(), all.feeds_.end(), [](const OfFeed& feed) { return !feed.weather.feed().observed; });
  if (!has_forecast && lost.empty())
    lost.push_back({ErrorKind::incomplete, "no_run", "--feed", "none of the files could be read as part of a forecast run",
                    "`hakea inspect FILE` says what is in a file"});
  if (!has_forecast) return lost;
  complain(lost);
  all.tell_of_units_outside();
  return all;
}

void FeedWeather::tell_of(const OfFeed& feed) const {
  complain(feed.weather.left_out());
  for (const ingest::Refusal& refusal : feed.weather.newest().refusals)
    complain({ErrorKind::unsupported, "refused", refusal.variable.empty() ? refusal.file : refusal.file + ": " + refusal.variable,
              refusal.why, refusal.hint});
}

void FeedWeather::tell_of_units_outside() const {
  const auto has_no_cell = [](const ingest::PointOfInterest& p) { return std::isnan(p.latitude_deg); };
  for (const Unit& unit : units_) {
    const bool is_outside = std::all_of(feeds_.begin(), feeds_.end(), [&](const OfFeed& feed) {
      if (feed.weather.feed().observed) return true;
      const auto& sampled = feed.weather.newest().sampled_at;
      if (sampled.empty()) return false;
      const auto first = sampled.begin() + static_cast<std::ptrdiff_t>(first_point(unit));
      return std::all_of(first, first + static_cast<std::ptrdiff_t>(unit.points.size()), has_no_cell);
    });
    if (is_outside)
      complain({ErrorKind::incomplete, "outside_grid", unit.id, "lies outside the grid of the forecast, so its days are unknown",
                "give a feed that covers it, or check its position"});
  }
}

UtcTime FeedWeather::newest() const {
  std::optional<UtcTime> newest;
  for (const OfFeed& feed : feeds_)
    if (!feed.weather.feed().observed) newest = std::max(newest.value_or(UtcTime::min()), feed.reference_times.back());
  return *newest;
}

std::vector<RunNote> FeedWeather::runs() const {
  std::vector<RunNote> notes;
  for (const OfFeed& feed : feeds_) {
    if (feed.weather.feed().observed) continue;
    for (auto time = feed.reference_times.rbegin(); time != feed.reference_times.rend(); ++time)
      notes.push_back({.id = run_id(feed.weather.feed().id, *time),
                       .feed = feed.weather.feed().id,
                       .reference_time = *time,
                       .received_at = {},
                       .computed_at = {},
                       .next_expected = {}});
  }
  std::stable_sort(notes.begin(), notes.end(),
                   [](const RunNote& a, const RunNote& b) { return a.reference_time > b.reference_time; });
  return notes;
}

std::string FeedWeather::source() const {
  std::vector<std::string> files;
  for (const OfFeed& feed : feeds_) files.insert(files.end(), feed.newest_files.begin(), feed.newest_files.end());
  return fmt::format("{}", fmt::join(files, ", "));
}

std::vector<SamplingNote> FeedWeather::sampling(const Unit& unit) const {
  std::vector<SamplingNote> notes;
  for (const OfFeed& feed : feeds_) {
    if (feed.weather.feed().observed) {
      add_stations(feed.weather, unit, first_point(unit), notes);
      continue;
    }
    const ingest::RunPlan& plan = feed.weather.newest();
    for (std::size_t p = 0; p < unit.points.size(); ++p) {
      const std::size_t at = first_point(unit) + p;
      SamplingNote note{feed.weather.feed().id, unit.points[p].site.latitude_deg, unit.points[p].site.longitude_deg, Metres(),
                        unit.points[p].site.elevation};
      if (at < plan.sampled_at.size()) {
        note.latitude_deg = plan.sampled_at[at].latitude_deg;
        note.longitude_deg = plan.sampled_at[at].longitude_deg;
      }
      if (at < plan.model_elevation_m.size()) note.model_elevation = Metres(static_cast<double>(plan.model_elevation_m[at]));
      if (at < plan.sea.size()) note.sea = plan.sea[at];
      notes.push_back(note);
    }
  }
  return notes;
}

Result<UnitWeather> FeedWeather::weather_of_batch(std::size_t first_unit) const {
  std::vector<RunBlock> blocks;
  for (const OfFeed& feed : feeds_) {
    auto block = feed.weather.block(first_unit / kBatch);
    if (!block) return block.errors();
    blocks.push_back(*std::move(block));
  }
  return UnitWeather([this, blocks = std::move(blocks)](const Unit& unit) {
    std::vector<UnitRunPtr> runs;
    for (const RunBlock& block : blocks)
      for (UnitRunPtr& run : block.at(unit, first_point(unit))) runs.push_back(std::move(run));
    auto record = std::make_shared<UnitWeatherRecord>(runs, EnteredWeather(), unit.points);
    record->begin_with(unit.initial_state, UnitWeatherRecord::Before::kept);
    return WeatherOfUnit(std::shared_ptr<const UnitWeatherRecord>(std::move(record)));
  });
}

}  // namespace hakea::service
