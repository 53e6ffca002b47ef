// The weather of one unit as the service knows it: the newest run of each feed, before it what older runs said of the hours
// that have passed, the state it all begins with, and what people read on site. Immutable once it is part of a picture.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "service/engine/unit_series.h"
#include "service/input/unit_json.h"

namespace hakea::service {

// Runs that are judged together with a newer one of their feed are no older than this: six-hourly runs of the day before
// (common practice).
inline constexpr std::chrono::hours kLongestLag{24};

// One run at the points of one unit.
struct UnitRun {
  std::string id, feed;
  std::size_t order = 0;  // of the feed in the configuration
  UtcTime reference_time{};
  int lagged_runs = 1;       // of the feed: so many of its newest runs are members of one ensemble
  bool is_observed = false;  // what stations saw
  int revision = 1;
  std::vector<std::vector<UnitSeries>> points;  // [point][member], each at least one

  UtcHour first() const { return points.front().front().first(); }
  UtcHour end() const { return points.front().front().end(); }
  std::size_t members() const { return points.front().size(); }
  // A run of fewer members repeats them.
  const UnitSeries& at(std::size_t point, std::size_t member) const { return points[point][member % points[point].size()]; }
  // Whether any value was found at the unit: none outside the feed's grid.
  bool is_at_hand() const;
};
// Of a run that was read for many points: what it says at those of a unit, which begin with `first_point`.
UnitRun unit_run(const ingest::Feed& feed, std::size_t order, const RunColumns& columns, const Unit& unit,
                 std::size_t first_point);
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
  // every fed quantity then. Hours before the newest runs are those of the shortest lead, for all of them. What was observed
  // comes before what any run says.
  using Feed = std::optional<std::size_t>;

  // `runs` in any order, at least one that is foretold; of each feed the newest is the one that is judged.
  // What was observed counts by how near its station is to `place`, then the latest first.
  UnitWeatherRecord(std::vector<UnitRunPtr> runs, std::vector<EnteredReading> readings, const core::Site& place = {});
  // The state at a time before the hours that matter. Hours before it are left out, unless they are `kept`.
  enum class Before : std::uint8_t { left_out, kept };
  void begin_with(std::optional<core::WetnessState> state, Before before = Before::left_out) {
    state_ = std::move(state);
    before_ = before;
  }

  // The newest run of each feed that has one, by the order of the feeds. Those that have no value at the unit are left
  // out, if another has.
  const std::vector<UnitRunPtr>& newest() const { return newest_; }
  UnitRunPtr newest_of(std::size_t feed) const;
  const std::vector<UnitRunPtr>& runs() const { return runs_; }          // all that foretell, the newest first
  const std::vector<UnitRunPtr>& observed() const { return observed_; }  // the nearest first
  const std::optional<core::WetnessState>& state() const { return state_; }
  // Of a feed: the members of its newest run, then those of the runs that lag behind it. Of the main series: as many as the
  // feed with the most of them has; in hours of a feed with fewer those come again and again.
  std::size_t members(Feed feed) const;
  // How many different members each hour has, and where the hours of each member end, as core::DayInput wants them.
  std::vector<int> members_by_hour(const core::UnitHours& hours, Feed feed) const;
  std::vector<UtcHour> member_ends(Feed feed) const;
  // Where the forecast begins: what is before it has passed.
  UtcHour forecast_begins() const { return forecast_begins_; }

  // [point][member], fed columns filled, readings entered, nothing computed. `unit` must outlive them and have the points
  // that the runs were read for. Hours from `end` on are left out.
  std::vector<std::vector<core::UnitHours>> hours(const Unit& unit, Feed feed, std::optional<UtcHour> end = std::nullopt) const;
  core::UnitHours point_hours(const Unit& unit, std::size_t point, std::size_t member, Feed feed,
                              std::optional<UtcHour> end = std::nullopt) const;
  // The hours that these are for.
  ingest::RunHours span(const Unit& unit, Feed feed) const;
  // Which run gives each of kSurfaceKeys in an hour of the main series, at the first point and member; null where none does.
  using Givers = std::array<const UnitRun*, kSurfaceQuantities>;
  Givers givers(UtcHour hour) const;

  // Dates that may be met although the newest run is incomplete: it may lose windows, but opens none. None: no restriction.
  std::optional<std::set<LocalDate>> may_be_met;

 private:
  // One member of a feed: a member of its newest run, or of a run that lags behind it.
  struct Strand {
    const UnitRun* run;
    std::size_t member;
    const UnitSeries& at(std::size_t point) const { return run->at(point, member); }
  };
  using Strands = std::vector<Strand>;  // of one feed, the newest run's first

  template <class Visit>
  void sources(UtcHour hour, std::size_t point, std::size_t member, Feed feed, Visit&& visit) const;
  // The feed an hour of the forecast comes from, as an index of newest_; none where no feed covers it.
  std::optional<std::size_t> feed_of(UtcHour hour, std::size_t point, std::size_t member) const;
  std::optional<std::size_t> index_of(std::size_t feed) const;
  UtcHour end_of(Feed feed) const;

  std::vector<UnitRunPtr> observed_, runs_, newest_;
  std::vector<Strands> strands_;  // by newest_
  std::optional<core::WetnessState> state_;
  Before before_ = Before::left_out;
  std::vector<EnteredReading> readings_;
  UtcHour first_, forecast_begins_;
};

}  // namespace hakea::service
