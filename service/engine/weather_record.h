// The weather of one unit as the service knows it: the newest run of each feed, before it what older runs said of the hours
// that have passed, the state it all begins with, and what people read on site. Immutable once it is part of a picture.
#pragma once

#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "service/engine/unit_series.h"
#include "service/input/unit_json.h"

namespace hakea::service {

// One run at the points of one unit.
struct UnitRun {
  std::string id, feed;
  std::size_t order = 0;  // of the feed in the configuration
  UtcTime reference_time{};
  int revision = 1;
  std::vector<std::vector<UnitSeries>> points;  // [point][member], each at least one

  UtcHour first() const { return points.front().front().first(); }
  UtcHour end() const { return points.front().front().end(); }
  const UnitSeries& at(std::size_t point, std::size_t member) const {
    const auto& members = points[point];
    return members[member < members.size() ? member : 0];
  }
};
// Whether the run was read for the points the unit has now.
bool is_for(const UnitRun& run, const Unit& unit);
using UnitRunPtr = std::shared_ptr<const UnitRun>;

// A value that somebody entered for an hour.
struct EnteredReading {
  std::size_t quantity = 0;
  UtcHour hour;
  double value = 0;
};

class UnitWeatherRecord {
 public:
  // Which feed's hours: the number of a feed, or none for the main series, whose hours come from the first feed that has
  // every fed quantity then. Hours before the newest runs are those of the shortest lead, for all of them.
  using Feed = std::optional<std::size_t>;

  // `runs` in any order, at least one; of each feed the newest is the one that is judged.
  UnitWeatherRecord(std::vector<UnitRunPtr> runs, std::vector<EnteredReading> readings);
  // Where the record begins: no hours before it are kept.
  void begin_with(std::optional<core::WetnessState> state) { state_ = std::move(state); }

  // Feeds that have a run, by their order; and the newest run of each.
  const std::vector<UnitRunPtr>& newest() const { return newest_; }
  UnitRunPtr newest_of(std::size_t feed) const;
  const std::vector<UnitRunPtr>& runs() const { return runs_; }  // shortest lead first
  const std::optional<core::WetnessState>& state() const { return state_; }
  std::size_t members() const { return newest_.front()->points.front().size(); }
  // Where the forecast begins: what is before it has passed.
  UtcHour forecast_begins() const { return forecast_begins_; }

  // [point][member], fed columns filled, readings entered, nothing computed. `unit` must outlive them and have the points
  // that the runs were read for. Hours from `end` on are left out.
  std::vector<std::vector<core::UnitHours>> hours(const Unit& unit, Feed feed, std::optional<UtcHour> end = std::nullopt) const;
  core::UnitHours point_hours(const Unit& unit, std::size_t point, std::size_t member, Feed feed,
                              std::optional<UtcHour> end = std::nullopt) const;
  // Where an hour of the main series comes from; null where no run covers it.
  const UnitRun* source(UtcHour hour) const;

  // Dates that may be met although the newest run is incomplete: it may lose windows, but opens none. None: no restriction.
  std::optional<std::set<LocalDate>> may_be_met;

 private:
  template <class Visit>
  void sources(UtcHour hour, std::size_t point, std::size_t member, Feed feed, Visit&& visit) const;
  UtcHour end_of(Feed feed) const;

  std::vector<UnitRunPtr> runs_, newest_;
  std::optional<core::WetnessState> state_;
  std::vector<EnteredReading> readings_;
  UtcHour first_, forecast_begins_;
};

}  // namespace hakea::service
