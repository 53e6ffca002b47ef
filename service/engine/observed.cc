#include "service/engine/observed.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <tuple>

namespace hakea::service {
namespace {

// Stations see nothing of the air above them.
RunColumns::Air no_air() {
  const RunColumns::Value none{std::numeric_limits<float>::quiet_NaN(), 0, core::Reason::not_in_feed};
  RunColumns::Air air{.mixing_height = none,
                      .transport_wind_speed = none,
                      .transport_wind_from_direction = none,
                      .of_levels = {},
                      .method = core::MixingMethod::none,
                      .methods_disagree = false};
  air.of_levels.fill(none);
  return air;
}

}  // namespace

bool speaks_for(const core::Site& station, const Unit& unit) {
  return std::any_of(unit.points.begin(), unit.points.end(), [&](const core::UnitTraits& point) {
    return ingest::nearness(site_of(point.site), site_of(station)).has_value();
  });
}

RunHour hour_of(const UnitRun& run, const UnitSeries& series, UtcHour hour) {
  RunHour values = series.hour(static_cast<std::size_t>(hour - series.first()));
  if (run.is_observed) values.air = no_air();
  return values;
}

RunHour StationOfPoint::at(UtcHour hour, Metres unit_elevation) const {
  if (!posted) return at_unit(hour_of(*run, *series, hour), series->model_elevation(), unit_elevation);
  RunHour values;
  values.air = no_air();
  const auto& there = posted->hours.at(hour);
  for (std::size_t q = 0; q < kSurfaceQuantities; ++q)
    values.surface[q] = {there[q].value, 0, std::isnan(there[q].value) ? core::Reason::not_in_feed : core::Reason::none};
  return at_unit(values, posted->site.elevation, unit_elevation);
}

std::string StationOfPoint::entry(UtcHour hour, std::size_t quantity) const {
  return posted ? posted->hours.at(hour)[quantity].entry : std::string();
}

ObservedWeather::ObservedWeather(std::vector<UnitRunPtr> runs, EnteredWeather entered,
                                 const std::vector<core::UnitTraits>& points)
    : readings_(std::move(entered.readings)) {
  for (std::size_t p = 0; p < points.size(); ++p) {
    const ingest::StationSite place = site_of(points[p].site);
    std::vector<std::pair<ingest::Nearness, StationOfPoint>> near;
    const auto add = [&](StationOfPoint station) {
      const ingest::StationSite site = site_of(station.site());
      const auto nearness = ingest::nearness(place, site);
      if (!nearness) return;
      station.km = nearness->km;
      station.higher_m = site.elevation_m - place.elevation_m;
      near.emplace_back(*nearness, std::move(station));
    };
    // What somebody posted of a station comes before what its feed says: it may be a correction.
    for (const PostedStationPtr& posted : entered.stations) add({.posted = posted});
    for (const UnitRunPtr& run : runs) {
      if (p >= run->points.size()) continue;
      for (const UnitSeries& series : run->points[p])
        if (series.is_at_hand()) add({.run = run, .series = &series});
    }
    std::stable_sort(near.begin(), near.end(), [](const auto& a, const auto& b) {
      const auto rank = [](const auto& station) {
        const UnitRun* const run = station.second.run.get();  // of equally near ones the latest
        return std::tuple(station.first, run != nullptr, run ? -run->reference_time.time_since_epoch().count() : 0,
                          run ? run->order : 0);
      };
      return rank(a) < rank(b);
    });
    std::vector<StationOfPoint>& stations = stations_.emplace_back();
    for (auto& [nearness, station] : near) stations.push_back(std::move(station));
  }
}

void ObservedWeather::keep_only(UtcHour from, UtcHour to) {
  from_ = from;
  to_ = to;
  std::erase_if(readings_, [&](const EnteredReading& reading) { return !keeps(reading.hour); });
}

const std::vector<StationOfPoint>& ObservedWeather::stations(std::size_t point) const {
  static const std::vector<StationOfPoint> kNone;
  return point < stations_.size() ? stations_[point] : kNone;
}

std::optional<UtcHour> ObservedWeather::first() const {
  std::optional<UtcHour> first;
  for (const StationOfPoint& station : stations(0)) {
    if (station.posted && station.posted->hours.empty()) continue;
    const UtcHour begin = station.posted ? station.posted->hours.begin()->first : station.series->first();
    first = std::min(first.value_or(begin), begin);
  }
  return first ? std::optional(std::max(*first, from_)) : std::nullopt;
}

std::optional<UtcHour> ObservedWeather::end() const {
  std::optional<UtcHour> end;
  for (const StationOfPoint& station : stations(0)) {
    if (station.posted && station.posted->hours.empty()) continue;
    const UtcHour last = station.posted ? station.posted->hours.rbegin()->first + 1 : station.series->end();
    end = std::max(end.value_or(last), last);
  }
  return end ? std::optional(std::min(*end, to_)) : std::nullopt;
}

bool ObservedWeather::has_any() const {
  const auto begin = first(), last = end();
  return !readings_.empty() || (begin && *begin < *last);
}

std::optional<UtcHour> ObservedWeather::first_seen() const {
  std::optional<UtcHour> read;
  for (const EnteredReading& reading : readings_) read = std::min(read.value_or(reading.hour), reading.hour);
  const auto begin = first(), last = end();
  if (!begin) return read;
  for (UtcHour hour = *begin; hour < std::min(*last, read.value_or(*last)); hour = hour + 1) {
    const Seers by = seers(hour);
    if (std::any_of(by.begin(), by.end(), [](const StationOfPoint* station) { return station != nullptr; })) return hour;
  }
  return read;
}

void ObservedWeather::enter_readings(core::UnitHours& hours) const {
  for (const EnteredReading& reading : readings_) {
    if (reading.hour < hours.first || reading.hour >= hours.end()) continue;
    core::Column& entered = hours.readings[reading.quantity];
    if (entered.empty()) entered = core::Column(hours.hours, core::Reason::gap);
    entered.set(static_cast<std::size_t>(reading.hour - hours.first), reading.value, core::flag::kReading);
  }
}

core::UnitHours ObservedWeather::hours(const core::UnitTraits& traits, std::size_t point, UtcHour first, UtcHour end) const {
  core::UnitHours hours(traits, first, end > first ? static_cast<std::size_t>(end - first) : 0);
  FedColumns fed(hours);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = first + static_cast<int>(i);
    bool is_covered = false;
    for (const StationOfPoint& station : stations(point)) {
      if (!keeps(hour) || !station.covers(hour)) continue;
      is_covered = true;
      if (fed.take(i, station.at(hour, traits.site.elevation))) break;
    }
    if (!is_covered) fed.leave_gap(i);
  }
  enter_readings(hours);
  return hours;
}

ObservedWeather::Seers ObservedWeather::seers(UtcHour hour) const {
  Seers seers{};
  if (!keeps(hour)) return seers;
  for (const StationOfPoint& station : stations(0)) {
    if (!station.covers(hour)) continue;
    const RunHour values = station.at(hour, Metres::missing());
    for (std::size_t q = 0; q < kSurfaceQuantities; ++q)
      if (kSurfaceKeys[q] != "mixing_height" && !seers[q] && !std::isnan(values.surface[q].value)) seers[q] = &station;
  }
  return seers;
}

std::size_t ObservedWeather::fingerprint(UtcHour from, UtcHour to) const {
  from = std::max(from, from_);
  to = std::min(to, to_);
  std::string text;
  for (const StationOfPoint& station : stations(0)) {
    if (!station.posted) {
      station.series->add_to(text, from, to);
      continue;
    }
    const PostedStation& posted = *station.posted;
    text += fmt::format("{} {} {} {}", posted.name, posted.site.latitude_deg, posted.site.longitude_deg,
                        posted.site.elevation.value());
    for (auto at = posted.hours.lower_bound(from); at != posted.hours.end() && at->first < to; ++at)
      for (const PostedStation::Value& value : at->second)
        if (!std::isnan(value.value)) text += fmt::format(" {}:{}", value.entry, value.value);
  }
  for (const EnteredReading& reading : readings_)
    if (reading.hour >= from && reading.hour < to)
      text += fmt::format(" {}@{}={}", reading.quantity, reading.hour.count, reading.value);
  return std::hash<std::string>()(text);
}

}  // namespace hakea::service
