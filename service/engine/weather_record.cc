#include "service/engine/weather_record.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <limits>
#include <tuple>

#include "ingest/station/nearest.h"
#include "service/engine/arrivals.h"

namespace hakea::service {

bool is_for(const UnitRun& run, const Unit& unit) {
  if (run.points.size() != unit.points.size()) return false;
  for (std::size_t p = 0; p < run.points.size(); ++p)
    if (!run.points[p].front().is_for(unit.points[p].site)) return false;
  return true;
}

namespace {

// What a run says of an hour. Stations see nothing of the air above them.
RunHour hour_of(const UnitRun& run, const UnitSeries& series, UtcHour hour) {
  RunHour values = series.hour(static_cast<std::size_t>(hour - series.first()));
  if (!run.is_observed) return values;
  const RunColumns::Value none{std::numeric_limits<float>::quiet_NaN(), 0, core::Reason::not_in_feed};
  values.air = {.mixing_height = none,
                .transport_wind_speed = none,
                .transport_wind_from_direction = none,
                .of_levels = {},
                .method = core::MixingMethod::none,
                .methods_disagree = false};
  values.air.of_levels.fill(none);
  return values;
}

}  // namespace

bool UnitRun::is_at_hand() const {
  return std::any_of(points.begin(), points.end(), [](const auto& members) {
    return std::any_of(members.begin(), members.end(), [](const UnitSeries& series) { return series.is_at_hand(); });
  });
}

UnitRun unit_run(const ingest::Feed& feed, std::size_t order, const RunColumns& columns, const Unit& unit,
                 std::size_t first_point) {
  UnitRun run;
  run.reference_time = columns.plan().reference_time;
  run.id = run_id(feed.id, run.reference_time);
  run.feed = feed.id;
  run.order = order;
  run.lagged_runs = feed.lagged_runs;
  run.is_observed = feed.observed;
  for (std::size_t p = 0; p < unit.points.size(); ++p) {
    std::vector<UnitSeries>& members = run.points.emplace_back();
    for (std::size_t member = 0; member < columns.members(); ++member) {
      members.emplace_back(columns, first_point + p, member, unit.points[p].site);
      // What lies beyond the feed's lead hours is another feed's to say.
      if (feed.hours) members.back() = members.back().before(UtcHour::of(run.reference_time) + feed.hours->last + 1);
      members.back().share_marks_of(members.front());
    }
  }
  return run;
}

UnitWeatherRecord::UnitWeatherRecord(std::vector<UnitRunPtr> runs, std::vector<EnteredReading> readings, const core::Site& place)
    : runs_(std::move(runs)), readings_(std::move(readings)) {
  std::copy_if(runs_.begin(), runs_.end(), std::back_inserter(observed_),
               [](const UnitRunPtr& run) { return run->is_observed && run->is_at_hand(); });
  std::erase_if(runs_, [](const UnitRunPtr& run) { return run->is_observed; });
  HAKEA_EXPECT(!runs_.empty());
  const auto distance = [&](const UnitRun& run) {
    const UnitSeries& series = run.at(0, 0);
    const double km = ingest::distance_km({place.latitude_deg, place.longitude_deg, 0},
                                          {series.sampled_latitude(), series.sampled_longitude(), 0});
    return std::isnan(km) ? std::numeric_limits<double>::infinity() : km;
  };
  std::sort(observed_.begin(), observed_.end(), [&](const UnitRunPtr& a, const UnitRunPtr& b) {
    return std::tuple(distance(*a), b->reference_time, a->order) < std::tuple(distance(*b), a->reference_time, b->order);
  });
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
  first_ = runs_.front()->first();
  for (const auto* all : {&runs_, &observed_})
    for (const UnitRunPtr& run : *all) first_ = std::min(first_, run->first());
  forecast_begins_ = newest_.front()->first();
  for (const UnitRunPtr& run : newest_) forecast_begins_ = std::max(forecast_begins_, run->first());
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
      if (!feed || newest_[k]->order == *feed) ends[m] = std::max(ends[m], strands_[k][m % strands_[k].size()].at(0).end());
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
void UnitWeatherRecord::sources(UtcHour hour, std::size_t point, std::size_t member, Feed feed, Visit&& visit) const {
  for (const UnitRunPtr& run : observed_)
    if (const UnitSeries& series = run->at(point, member); series.covers(hour) && !visit(*run, series)) return;
  const auto of_strand = [&](std::size_t k) {
    const Strand& strand = strands_[k][member % strands_[k].size()];
    if (strand.at(point).covers(hour)) visit(*strand.run, strand.at(point));
  };
  if (feed) {
    const auto k = index_of(*feed);
    if (k && hour >= newest_[*k]->first()) return of_strand(*k);
  } else if (hour >= forecast_begins_) {
    if (const auto k = feed_of(hour, point, member)) of_strand(*k);
    return;
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
                                               std::optional<UtcHour> end) const {
  const core::UnitTraits& traits = unit.points[point];
  const ingest::RunHours all = span(unit, feed);
  const UtcHour first = all.first;
  UtcHour last = first + static_cast<int>(all.hours);
  if (end) last = std::min(last, *end);
  core::UnitHours hours(traits, first, last > first ? static_cast<std::size_t>(last - first) : 0);
  hours.initial_state = state_;
  FedColumns fed(hours);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = first + static_cast<int>(i);
    bool is_covered = false;
    sources(hour, point, member, feed, [&](const UnitRun& run, const UnitSeries& series) {
      is_covered = true;
      return !fed.take(i, at_unit(hour_of(run, series, hour), series.model_elevation(), traits.site.elevation));
    });
    if (!is_covered) fed.leave_gap(i);
  }
  for (const EnteredReading& reading : readings_) {
    if (reading.hour < first || reading.hour >= last) continue;
    core::Column& entered = hours.readings[reading.quantity];
    if (entered.empty()) entered = core::Column(hours.hours, core::Reason::gap);
    entered.set(static_cast<std::size_t>(reading.hour - first), reading.value, core::flag::kReading);
  }
  return hours;
}

std::vector<std::vector<core::UnitHours>> UnitWeatherRecord::hours(const Unit& unit, Feed feed,
                                                                   std::optional<UtcHour> end) const {
  const std::size_t count = members(feed);
  std::vector<std::vector<core::UnitHours>> hours(unit.points.size());
  for (std::size_t p = 0; p < unit.points.size(); ++p)
    for (std::size_t member = 0; member < count; ++member) hours[p].push_back(point_hours(unit, p, member, feed, end));
  return hours;
}

UnitWeatherRecord::Givers UnitWeatherRecord::givers(UtcHour hour) const {
  Givers givers{};
  sources(hour, 0, 0, std::nullopt, [&](const UnitRun& run, const UnitSeries& series) {
    const RunHour values = hour_of(run, series, hour);
    for (std::size_t q = 0; q < kSurfaceQuantities; ++q) {
      const bool is_given =
          kSurfaceKeys[q] == "mixing_height" ? !std::isnan(values.air.mixing_height.value) : !std::isnan(values.surface[q].value);
      if (is_given && !givers[q]) givers[q] = &run;
    }
    return true;
  });
  return givers;
}

}  // namespace hakea::service
