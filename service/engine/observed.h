// What was seen of a unit's weather, whatever was foretold: by the stations of feeds, by stations whose readings people post,
// and on site. Of stations the nearest within reach speaks for a point, hour by hour and quantity by quantity, and where it has
// no value the next one (ingest/station/nearest.h); at the height of the point (core/weather/elevation.h).
#pragma once

#include <array>
#include <limits>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "service/engine/unit_run.h"

namespace hakea::service {

// A value that somebody entered for an hour of a unit.
struct EnteredReading {
  std::size_t quantity = 0;
  UtcHour hour;
  double value = 0;
  std::string entry{};  // id of the observation
};

// A station whose readings people post, at its own ground.
struct PostedStation {
  struct Value {
    float value = std::numeric_limits<float>::quiet_NaN();
    std::string entry;  // id of the observation
  };
  std::string name;
  core::Site site;
  std::map<UtcHour, std::array<Value, kSurfaceQuantities>> hours;
};
using PostedStationPtr = std::shared_ptr<const PostedStation>;

// Whether a station there is within reach of a point of a unit.
bool speaks_for(const core::Site& station, const Unit& unit);

// What people entered that bears on a unit.
struct EnteredWeather {
  std::vector<EnteredReading> readings;  // in the order they were entered: of one hour and quantity the later one counts
  std::vector<PostedStationPtr> stations;
};

// Values of one hour by kSurfaceKeys, and what was made of levels.
RunHour hour_of(const UnitRun& run, const UnitSeries& series, UtcHour hour);

// A station that speaks for a point of a unit.
struct StationOfPoint {
  UnitRunPtr run{};  // and its series, or the readings that were posted
  const UnitSeries* series = nullptr;
  PostedStationPtr posted{};
  double km = 0, higher_m = 0;  // away, and above the point; NaN where either height is not known

  const std::string& name() const { return posted ? posted->name : series->station(); }
  core::Site site() const { return posted ? posted->site : series->sampled_site(); }
  bool covers(UtcHour hour) const { return posted ? posted->hours.contains(hour) : series->covers(hour); }
  RunHour at(UtcHour hour, Metres unit_elevation) const;
  // The observation that a posted value is from; empty for a value of a feed.
  std::string entry(UtcHour hour, std::size_t quantity) const;
};

class ObservedWeather {
 public:
  ObservedWeather() = default;
  // `runs` are those that were observed, in any order.
  ObservedWeather(std::vector<UnitRunPtr> runs, EnteredWeather entered, const std::vector<core::UnitTraits>& points);
  // From now on only what was seen in these hours counts.
  void keep_only(UtcHour from, UtcHour to);

  // The nearest first.
  const std::vector<StationOfPoint>& stations(std::size_t point) const;
  const std::vector<EnteredReading>& readings() const { return readings_; }
  bool keeps(UtcHour hour) const { return hour >= from_ && hour < to_; }
  // The first hour that a station of the first point has, and the one after the last.
  std::optional<UtcHour> first() const;
  std::optional<UtcHour> end() const;

  // Whether there may be anything.
  bool has_any() const;
  // The first hour that a station of the first point has a value of, or in which something was read.
  std::optional<UtcHour> first_seen() const;

  // Puts the readings into the hours of a point.
  void enter_readings(core::UnitHours& hours) const;
  // The hours of a point on nothing but what was seen; nothing computed.
  core::UnitHours hours(const core::UnitTraits& traits, std::size_t point, UtcHour first, UtcHour end) const;
  // Which station of the first point gives each of kSurfaceKeys in an hour; null where none does.
  using Seers = std::array<const StationOfPoint*, kSurfaceQuantities>;
  Seers seers(UtcHour hour) const;
  // Changes when what was seen from one hour to another does.
  std::size_t fingerprint(UtcHour from, UtcHour to) const;

 private:
  std::vector<std::vector<StationOfPoint>> stations_;  // by point
  std::vector<EnteredReading> readings_;
  UtcHour from_{std::numeric_limits<std::int32_t>::min()}, to_{std::numeric_limits<std::int32_t>::max()};
};

}  // namespace hakea::service
