#include "service/engine/run_weather.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/catalogue/catalogue.h"
#include "core/weather/elevation.h"

namespace hakea::service {

using core::Reason;
using Value = RunColumns::Value;

namespace {

// Surface values and air of one hour from one run, at the unit's elevation.
struct HourOfRun {
  std::array<Value, kSurfaceQuantities> surface;
  RunColumns::Air air;
};

enum { kTemperature = 0, kDewPoint = 1, kPressure = 8, kMixingHeight = 9 };

void put(Value& value, double corrected) {
  if (!std::isnan(value.value)) value.value = static_cast<float>(corrected);
}

HourOfRun hour_of(const RunColumns& run, std::size_t point, std::size_t member, std::size_t hour, Metres unit_elevation) {
  HourOfRun h;
  for (std::size_t q = 0; q < kSurfaceQuantities; ++q) h.surface[q] = run.surface(point, member, q, hour);
  h.air = run.air(point, member, hour);
  const core::ElevationStep step{run.model_elevation(point), unit_elevation};
  if (!step.model.is_missing() && !step.unit.is_missing()) {
    const auto number = [&](std::size_t q) { return static_cast<double>(h.surface[q].value); };
    const core::ScreenAir unit = core::at_unit_elevation(
        {Celsius(number(kTemperature)), Celsius(number(kDewPoint)), Percent::missing(), Hectopascals(number(kPressure))}, step);
    put(h.surface[kTemperature], unit.temperature.value());
    put(h.surface[kDewPoint], unit.dew_point.value());
    put(h.surface[kPressure], unit.pressure.value());
    put(h.air.mixing_height,
        core::mixing_height_above_unit(Metres(static_cast<double>(h.air.mixing_height.value)), step).value());
  }
  h.surface[kMixingHeight] = h.air.mixing_height;
  return h;
}

void set(core::Column& column, std::size_t i, const Value& value) {
  column.set(i, static_cast<double>(value.value), value.flags, value.why == Reason::none ? Reason::gap : value.why);
}

}  // namespace

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
    auto read = ingest::read_run(
        feed, *files, places, how.limits,
        {[&](const ingest::RunPlan& plan) { run.on_plan(plan); }, [&](ingest::Slab&& slab) { run.on_slab(std::move(slab)); }});
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
  std::array<core::Column*, kSurfaceQuantities> surface{};
  for (std::size_t q = 0; q < kSurfaceQuantities; ++q) surface[q] = &hours[kSurfaceKeys[q]];
  core::Column &speed = hours["transport_wind_speed"], &direction = hours["transport_wind_from_direction"],
               &strength = hours["inversion_strength"], &top = hours["inversion_top"];
  hours.mixing.resize(hours_);
  for (std::size_t i = 0; i < hours_; ++i) {
    bool covered = false;
    sources(first_ + static_cast<int>(i), member, [&](const Source& source) {
      const HourOfRun hour = hour_of(*source.run, point, source.member, source.hour, unit.site.elevation);
      bool complete = true;
      const auto take = [&](core::Column& column, const Value& value) {
        if (!covered || column.is_missing(i)) {
          if (!covered || !std::isnan(value.value)) set(column, i, value);
          complete = complete && !column.is_missing(i);
        }
      };
      if (hours.mixing[i].method == core::MixingMethod::none) hours.mixing[i] = {hour.air.method, hour.air.methods_disagree};
      for (std::size_t q = 0; q < kSurfaceQuantities; ++q) take(*surface[q], hour.surface[q]);
      take(strength, hour.air.inversion_strength);
      take(top, hour.air.inversion_top);
      // The transport wind belongs to the mixing height it was taken up to.
      if (!covered || (speed.is_missing(i) && direction.is_missing(i))) {
        set(speed, i, hour.air.transport_wind_speed);
        set(direction, i, hour.air.transport_wind_from_direction);
      }
      covered = true;
      return !complete;
    });
    if (!covered) {
      for (core::Column* column : surface) column->set_missing(i, Reason::gap);
      for (core::Column* column : {&speed, &direction, &strength, &top}) column->set_missing(i, Reason::gap);
    }
  }
  return hours;
}

}  // namespace hakea::service
