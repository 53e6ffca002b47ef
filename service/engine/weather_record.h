// The weather of one unit as the service knows it: the newest run of each feed, before it what older runs said of the hours
// that have passed, the state it all begins with, and what people read on site. Immutable once it is part of a picture.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "service/engine/observed.h"
#include "service/engine/unit_run.h"

namespace hakea::service {

// Runs that are judged together with a newer one of their feed are no older than this: six-hourly runs of the day before
// (common practice).
inline constexpr std::chrono::hours kLongestLag{24};

class UnitWeatherRecord {
 public:
  // Which feed's hours: the number of a feed, or none for the main series, whose hours come from the first feed that has
  // every fed quantity then. Hours before the newest runs are those of the shortest lead, for all of them. What was observed
  // comes before what any run says.
  using Feed = std::optional<std::size_t>;

  // `runs` in any order, at least one that is foretold; of each feed the newest is the one that is judged.
  UnitWeatherRecord(const std::vector<UnitRunPtr>& runs, EnteredWeather entered, const std::vector<core::UnitTraits>& points);
  // The same of runs that foretell, beside what was seen.
  UnitWeatherRecord(std::vector<UnitRunPtr> foretold, ObservedWeather seen);
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
  const std::vector<UnitRunPtr>& runs() const { return runs_; }  // all that foretell, the newest first
  const ObservedWeather& seen() const { return seen_; }
  const std::optional<core::WetnessState>& state() const { return state_; }
  // Of a feed: the members of its newest run, then those of the runs that lag behind it. Of the main series: as many as the
  // feed with the most of them has; in hours of a feed with fewer those come again and again.
  std::size_t members(Feed feed) const;
  // How many different members each hour has, and where the hours of each member end, as core::DayInput wants them.
  std::vector<int> members_by_hour(const core::UnitHours& hours, Feed feed) const;
  std::vector<UtcHour> member_ends(Feed feed) const;
  // Where the forecast begins: what is before it has passed.
  UtcHour forecast_begins() const { return forecast_begins_; }

  // Whether all members of its runs are at hand; the hours of others than the first are there only then.
  bool is_whole() const;
  // [point][member], fed columns filled, readings entered, nothing computed. `unit` must outlive them and have the points
  // that the runs were read for. Hours from `end` on are left out.
  // Columns from which nothing that is `wanted` is computed may be left empty.
  std::vector<std::vector<core::UnitHours>> hours(const Unit& unit, Feed feed, std::optional<UtcHour> end = std::nullopt,
                                                  const core::Rows& wanted = core::Rows().set()) const;
  core::UnitHours point_hours(const Unit& unit, std::size_t point, std::size_t member, Feed feed,
                              std::optional<UtcHour> end = std::nullopt, const core::Rows& wanted = core::Rows().set()) const;
  // The hours that these are for.
  ingest::RunHours span(const Unit& unit, Feed feed) const;
  // What gives each of kSurfaceKeys in an hour of the main series, at the first point and member, readings apart: a run that
  // foretold it, or a station that saw it; neither where nothing does.
  struct Giver {
    const UnitRun* run = nullptr;
    const StationOfPoint* station = nullptr;
    std::string entry{};  // the observation that was posted of the station
    bool operator==(const Giver&) const = default;
  };
  using Givers = std::array<Giver, kSurfaceQuantities>;
  Givers givers(UtcHour hour) const;

  // Where a newest run lacks something: what the whole ones before it say, null where there are none. Such a run may lose
  // windows, but opens none.
  bool lacks_something = false;
  std::shared_ptr<const UnitWeatherRecord> of_whole_runs;

 private:
  // One member of a feed: a member of its newest run, or of a run that lags behind it.
  struct Strand {
    const UnitRun* run;
    std::size_t member;
    const UnitSeries& at(std::size_t point) const { return run->at(point, member); }
  };
  using Strands = std::vector<Strand>;  // of one feed, the newest run's first

  template <class Visit>
  void foretold(UtcHour hour, std::size_t point, std::size_t member, Feed feed, Visit&& visit) const;
  // The feed an hour of the forecast comes from, as an index of newest_; none where no feed covers it.
  std::optional<std::size_t> feed_of(UtcHour hour, std::size_t point, std::size_t member) const;
  std::optional<std::size_t> index_of(std::size_t feed) const;
  UtcHour end_of(Feed feed) const;

  friend Result<std::shared_ptr<const UnitWeatherRecord>> whole(const std::shared_ptr<const UnitWeatherRecord>& record);

  ObservedWeather seen_;
  std::vector<UnitRunPtr> runs_, newest_;
  std::vector<Strands> strands_;  // by newest_
  std::optional<core::WetnessState> state_;
  Before before_ = Before::left_out;
  UtcHour first_, forecast_begins_;
};

using WeatherRecordPtr = std::shared_ptr<const UnitWeatherRecord>;
// With all members at hand: of a record that is whole, itself. Errors: those of whole() of a run.
Result<WeatherRecordPtr> whole(const WeatherRecordPtr& record);

}  // namespace hakea::service
