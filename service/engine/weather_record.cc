#include "service/engine/weather_record.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <tuple>

namespace hakea::service {

namespace {

std::vector<UnitRunPtr> those(const std::vector<UnitRunPtr>& runs, bool is_observed) {
  std::vector<UnitRunPtr> chosen;
  std::copy_if(runs.begin(), runs.end(), std::back_inserter(chosen),
               [&](const UnitRunPtr& run) { return run->is_observed == is_observed; });
  return chosen;
}

}  // namespace

UnitWeatherRecord::UnitWeatherRecord(const std::vector<UnitRunPtr>& runs, EnteredWeather entered,
                                     const std::vector<core::UnitTraits>& points)
    : UnitWeatherRecord(those(runs, false), ObservedWeather(those(runs, true), std::move(entered), points)) {}

UnitWeatherRecord::UnitWeatherRecord(std::vector<UnitRunPtr> foretold, ObservedWeather seen)
    : seen_(std::move(seen)), runs_(std::move(foretold)) {
  HAKEA_EXPECT(!runs_.empty());
  std::sort(runs_.begin(), runs_.end(), [](const UnitRunPtr& a, const UnitRunPtr& b) {
    return std::tuple(b->reference_time, a->order, a->id) < std::tuple(a->reference_time, b->order, b->id);
  });
  for (const UnitRunPtr& run : runs_)
    if (std::none_of(newest_.begin(), newest_.end(), [&](const UnitRunPtr& other) { return other->order == run->order; }))
      newest_.push_back(run);
  const auto is_at_hand = [](const UnitRunPtr& run) { return run->is_at_hand(); };
  if (std::any_of(newest_.begin(), newest_.end(), is_at_hand)) std::erase_if(newest_, std::not_fn(is_at_hand));
  std::sort(newest_.begin(), newest_.end(), [](const UnitRunPtr& a, const UnitRunPtr& b) { return a->order < b->order; });
  for (const UnitRunPtr& newest : newest_) {
    Strands& strands = strands_.emplace_back();
    int taken = 0;
    for (const UnitRunPtr& run : runs_) {
      if (run->order != newest->order || taken == newest->lagged_runs) continue;
      if (newest->reference_time - run->reference_time > kLongestLag) break;
      for (std::size_t member = 0; member < run->members(); ++member) strands.push_back({run.get(), member});
      ++taken;
    }
  }
  forecast_begins_ = newest_.front()->begins();
  for (const UnitRunPtr& run : newest_) forecast_begins_ = std::max(forecast_begins_, run->begins());
  first_ = runs_.front()->first();
  for (const UnitRunPtr& run : runs_) first_ = std::min(first_, run->first());
  first_ = std::min(first_, seen_.first().value_or(first_));
}

std::optional<std::size_t> UnitWeatherRecord::index_of(std::size_t feed) const {
  for (std::size_t k = 0; k < newest_.size(); ++k)
    if (newest_[k]->order == feed) return k;
  return std::nullopt;
}

UnitRunPtr UnitWeatherRecord::newest_of(std::size_t feed) const {
  const auto k = index_of(feed);
  return k ? newest_[*k] : nullptr;
}

std::size_t UnitWeatherRecord::members(Feed feed) const {
  if (feed) {
    const auto k = index_of(*feed);
    return k ? strands_[*k].size() : 1;
  }
  std::size_t most = 1;
  for (const Strands& strands : strands_) most = std::max(most, strands.size());
  return most;
}

std::vector<int> UnitWeatherRecord::members_by_hour(const core::UnitHours& hours, Feed feed) const {
  if (feed || strands_.size() == 1) return {};
  std::vector<int> counts(hours.hours, 1);
  for (std::size_t i = 0; i < hours.hours; ++i)
    if (const UtcHour hour = hours.first + static_cast<int>(i); hour >= forecast_begins_)
      if (const auto k = feed_of(hour, 0, 0)) counts[i] = static_cast<int>(strands_[*k].size());
  return counts;
}

std::vector<UtcHour> UnitWeatherRecord::member_ends(Feed feed) const {
  std::vector<UtcHour> ends(members(feed), first_);
  for (std::size_t m = 0; m < ends.size(); ++m)
    for (std::size_t k = 0; k < strands_.size(); ++k)
      if (!feed || newest_[k]->order == *feed) ends[m] = std::max(ends[m], strands_[k][m % strands_[k].size()].run->end());
  return ends;
}

std::optional<std::size_t> UnitWeatherRecord::feed_of(UtcHour hour, std::size_t point, std::size_t member) const {
  std::optional<std::size_t> first;
  for (std::size_t k = 0; k < newest_.size(); ++k) {
    const UnitSeries& series = strands_[k][member % strands_[k].size()].at(point);
    if (!series.covers(hour) || !series.is_at_hand()) continue;
    if (series.has_all(static_cast<std::size_t>(hour - series.first()))) return k;
    if (!first) first = k;
  }
  return first;
}

// The runs to take an hour from and their hours there, best first, until `visit` has enough.
template <class Visit>
void UnitWeatherRecord::foretold(UtcHour hour, std::size_t point, std::size_t member, Feed feed, Visit&& visit) const {
  const auto of_strand = [&](std::size_t k) {
    const Strand& strand = strands_[k][member % strands_[k].size()];
    if (strand.at(point).covers(hour)) visit(*strand.run, strand.at(point));
  };
  if (feed) {
    const auto k = index_of(*feed);
    if (k && hour >= newest_[*k]->first()) return of_strand(*k);
  } else if (hour >= forecast_begins_) {
    if (const auto k = feed_of(hour, point, member)) return of_strand(*k);
    // Before the first lead hour of a feed an older run may still speak.
    if (std::none_of(newest_.begin(), newest_.end(), [&](const UnitRunPtr& run) { return run->first() > hour; })) return;
  }
  for (const UnitRunPtr& run : runs_)
    if (const UnitSeries& series = run->at(point, member); series.covers(hour) && !visit(*run, series)) return;
}

UtcHour UnitWeatherRecord::end_of(Feed feed) const {
  if (feed) {
    const UnitRunPtr run = newest_of(*feed);
    return run ? run->end() : first_;
  }
  UtcHour end = newest_.front()->end();
  for (const UnitRunPtr& run : newest_) end = std::max(end, run->end());
  return end;
}

ingest::RunHours UnitWeatherRecord::span(const Unit& unit, Feed feed) const {
  UtcHour first = first_;
  if (state_ && before_ == Before::left_out)
    first = std::max(first, first_hour_from(unit.traits.zone.rain_day_end(state_->as_of)));
  const UtcHour end = end_of(feed);
  return {first, end > first ? static_cast<std::size_t>(end - first) : 0};
}

core::UnitHours UnitWeatherRecord::point_hours(const Unit& unit, std::size_t point, std::size_t member, Feed feed,
                                               std::optional<UtcHour> end, const core::Rows& wanted) const {
  const core::UnitTraits& traits = unit.points[point];
  const ingest::RunHours all = span(unit, feed);
  const UtcHour first = all.first;
  UtcHour last = first + static_cast<int>(all.hours);
  if (end) last = std::min(last, *end);
  core::UnitHours hours(traits, first, last > first ? static_cast<std::size_t>(last - first) : 0);
  hours.initial_state = state_;
  FedColumns fed(hours);
  // A single run that nothing was seen beside speaks for itself, and needs not be asked hour by hour.
  const UnitSeries& newest = runs_.front()->at(point, member);
  const bool is_alone = runs_.size() == 1 && seen_.stations(point).empty() && newest.is_at_hand();
  if (is_alone) fed.take_all(newest, traits.site.elevation, core::with_all_inputs(wanted));
  for (std::size_t i = 0; i < hours.hours && !is_alone; ++i) {
    const UtcHour hour = first + static_cast<int>(i);
    bool is_covered = false, is_complete = false;
    for (const StationOfPoint& station : seen_.stations(point)) {
      if (is_complete || !seen_.keeps(hour)) break;
      if (!station.covers(hour)) continue;
      is_covered = true;
      is_complete = fed.take(i, station.at(hour, traits.site.elevation));
    }
    if (!is_complete)
      foretold(hour, point, member, feed, [&](const UnitRun& run, const UnitSeries& series) {
        is_covered = true;
        return !fed.take(i, at_unit(hour_of(run, series, hour), series.model_elevation(), traits.site.elevation));
      });
    if (!is_covered) fed.leave_gap(i);
  }
  seen_.enter_readings(hours);
  return hours;
}

std::vector<std::vector<core::UnitHours>> UnitWeatherRecord::hours(const Unit& unit, Feed feed, std::optional<UtcHour> end,
                                                                   const core::Rows& wanted) const {
  const std::size_t count = members(feed);
  std::vector<std::vector<core::UnitHours>> hours(unit.points.size());
  for (std::size_t p = 0; p < unit.points.size(); ++p)
    for (std::size_t member = 0; member < count; ++member) hours[p].push_back(point_hours(unit, p, member, feed, end, wanted));
  return hours;
}

UnitWeatherRecord::Givers UnitWeatherRecord::givers(UtcHour hour) const {
  Givers givers{};
  const ObservedWeather::Seers seers = seen_.seers(hour);
  for (std::size_t q = 0; q < kSurfaceQuantities; ++q)
    if (seers[q]) givers[q] = {seers[q]->run.get(), seers[q], seers[q]->entry(hour, q)};
  foretold(hour, 0, 0, std::nullopt, [&](const UnitRun& run, const UnitSeries& series) {
    const RunHour values = hour_of(run, series, hour);
    for (std::size_t q = 0; q < kSurfaceQuantities; ++q) {
      const bool is_given =
          kSurfaceKeys[q] == "mixing_height" ? !std::isnan(values.air.mixing_height.value) : !std::isnan(values.surface[q].value);
      if (is_given && !givers[q].run && !givers[q].station) givers[q].run = &run;
    }
    return true;
  });
  return givers;
}

bool UnitWeatherRecord::is_whole() const {
  return std::all_of(runs_.begin(), runs_.end(), [](const UnitRunPtr& run) { return run->is_whole(); }) &&
         (!of_whole_runs || of_whole_runs->is_whole());
}

Result<WeatherRecordPtr> whole(const WeatherRecordPtr& record) {
  if (record->is_whole()) return record;
  std::vector<UnitRunPtr> runs;
  for (const UnitRunPtr& run : record->runs_) {
    auto taken_up = whole(run);
    if (!taken_up) return taken_up.errors();
    runs.push_back(*std::move(taken_up));
  }
  auto taken_up = std::make_shared<UnitWeatherRecord>(std::move(runs), record->seen_);
  taken_up->begin_with(record->state_, record->before_);
  taken_up->lacks_something = record->lacks_something;
  if (record->of_whole_runs) {
    auto other = whole(record->of_whole_runs);
    if (!other) return other.errors();
    taken_up->of_whole_runs = *std::move(other);
  }
  return WeatherRecordPtr(std::move(taken_up));
}

}  // namespace hakea::service
