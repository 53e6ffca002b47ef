#include "service/engine/weather_record.h"

#include <algorithm>
#include <tuple>

namespace hakea::service {

bool is_for(const UnitRun& run, const Unit& unit) {
  if (run.points.size() != unit.points.size()) return false;
  for (std::size_t p = 0; p < run.points.size(); ++p)
    if (!run.points[p].front().is_for(unit.points[p].site)) return false;
  return true;
}

UnitWeatherRecord::UnitWeatherRecord(std::vector<UnitRunPtr> runs, std::vector<EnteredReading> readings)
    : runs_(std::move(runs)), readings_(std::move(readings)) {
  HAKEA_EXPECT(!runs_.empty());
  std::sort(runs_.begin(), runs_.end(), [](const UnitRunPtr& a, const UnitRunPtr& b) {
    return std::tuple(b->reference_time, a->order, a->id) < std::tuple(a->reference_time, b->order, b->id);
  });
  for (const UnitRunPtr& run : runs_)
    if (std::none_of(newest_.begin(), newest_.end(), [&](const UnitRunPtr& other) { return other->order == run->order; }))
      newest_.push_back(run);
  std::sort(newest_.begin(), newest_.end(), [](const UnitRunPtr& a, const UnitRunPtr& b) { return a->order < b->order; });
  first_ = runs_.front()->first();
  for (const UnitRunPtr& run : runs_) first_ = std::min(first_, run->first());
  forecast_begins_ = newest_.front()->first();
  for (const UnitRunPtr& run : newest_) forecast_begins_ = std::max(forecast_begins_, run->first());
}

UnitRunPtr UnitWeatherRecord::newest_of(std::size_t feed) const {
  for (const UnitRunPtr& run : newest_)
    if (run->order == feed) return run;
  return nullptr;
}

// The runs to take an hour from, best first, until `visit` has enough.
template <class Visit>
void UnitWeatherRecord::sources(UtcHour hour, std::size_t point, std::size_t member, Feed feed, Visit&& visit) const {
  const auto covers = [&](const UnitRun& run) { return run.at(point, member).covers(hour); };
  if (feed) {
    const UnitRunPtr run = newest_of(*feed);
    if (run && hour >= run->first()) {
      if (covers(*run)) visit(*run);
      return;
    }
  } else if (hour >= forecast_begins_) {
    const UnitRun* first = nullptr;
    for (const UnitRunPtr& run : newest_) {
      if (!covers(*run)) continue;
      const UnitSeries& series = run->at(point, member);
      if (series.has_all(static_cast<std::size_t>(hour - series.first()))) {
        visit(*run);
        return;
      }
      if (!first) first = run.get();
    }
    if (first) visit(*first);
    return;
  }
  for (const UnitRunPtr& run : runs_)
    if (covers(*run) && !visit(*run)) return;
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

core::UnitHours UnitWeatherRecord::point_hours(const Unit& unit, std::size_t point, std::size_t member, Feed feed,
                                               std::optional<UtcHour> end) const {
  const core::UnitTraits& traits = unit.points[point];
  UtcHour first = first_;
  if (state_) first = std::max(first, first_hour_from(traits.zone.rain_day_end(state_->as_of)));
  UtcHour last = end_of(feed);
  if (end) last = std::min(last, *end);
  core::UnitHours hours(traits, first, last > first ? static_cast<std::size_t>(last - first) : 0);
  hours.initial_state = state_;
  FedColumns fed(hours);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = first + static_cast<int>(i);
    bool is_covered = false;
    sources(hour, point, member, feed, [&](const UnitRun& run) {
      const UnitSeries& series = run.at(point, member);
      is_covered = true;
      return !fed.take(i, at_unit(series.hour(static_cast<std::size_t>(hour - series.first())), series.model_elevation(),
                                  traits.site.elevation));
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
  std::size_t count = members();
  if (feed)
    if (const UnitRunPtr run = newest_of(*feed)) count = run->points.front().size();
  std::vector<std::vector<core::UnitHours>> hours(unit.points.size());
  for (std::size_t p = 0; p < unit.points.size(); ++p)
    for (std::size_t member = 0; member < count; ++member) hours[p].push_back(point_hours(unit, p, member, feed, end));
  return hours;
}

const UnitRun* UnitWeatherRecord::source(UtcHour hour) const {
  const UnitRun* found = nullptr;
  sources(hour, 0, 0, std::nullopt, [&](const UnitRun& run) {
    if (!found) found = &run;
    return false;
  });
  return found;
}

}  // namespace hakea::service
