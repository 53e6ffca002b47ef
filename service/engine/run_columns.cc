#include "service/engine/run_columns.h"

#include <algorithm>
#include <cmath>
#include <mutex>
#include <numbers>
#include <utility>

#include "core/base/zone.h"
#include "core/weather/humidity.h"
#include "service/base/workers.h"

namespace hakea::service {

using core::Fed;
using core::Reason;
using ingest::PointHours;
namespace flag = core::flag;

namespace {

constexpr std::array<core::Column PointHours::*, kSurfaceQuantities> kColumns{
    &PointHours::air_temperature,     &PointHours::dew_point_temperature,
    &PointHours::wind_speed,          &PointHours::wind_from_direction,
    &PointHours::wind_gust,           &PointHours::precipitation_amount,
    &PointHours::shortwave_radiation, &PointHours::cloud_area_fraction,
    &PointHours::surface_pressure,    &PointHours::mixing_height};
enum Quantity : std::size_t {
  kTemperature,
  kDewPoint,
  kWindSpeed,
  kWindDirection,
  kGust,
  kRain,
  kRadiation,
  kCloud,
  kPressure,
  kMixingHeight
};

enum Kind : std::size_t { kLevelTemperature, kLevelHumidity, kLevelU, kLevelV, kLevelHeight };

// Bits of PackedAir::status above the method.
constexpr std::uint8_t kMethodMask = 7, kDisagree = 8, kAtLeast = 16, kHadLevels = 32, kReduced = 64, kFewLevels = 128;

constexpr float kMissing = std::numeric_limits<float>::quiet_NaN();
constexpr auto kLongestStep = std::chrono::hours(6);  // instants are not interpolated across longer ones

int kind_of(Fed fed) {
  switch (fed) {
    case Fed::level_temperature: return kLevelTemperature;
    case Fed::level_relative_humidity:
    case Fed::level_specific_humidity:
    case Fed::level_dew_point_temperature: return kLevelHumidity;
    case Fed::level_eastward_wind:
    case Fed::level_x_wind: return kLevelU;
    case Fed::level_northward_wind:
    case Fed::level_y_wind: return kLevelV;
    case Fed::level_height: return kLevelHeight;
    default: return -1;
  }
}

bool is_surface_series(Fed fed) { return !core::describe(fed).on_levels && core::describe(fed).kind != core::TimeKind::fixed; }

constexpr std::size_t kWorthSpreading = 1 << 15;  // profiles that wait to be reduced together, some 10 MB
constexpr double kMostBytes = 4e9;                // of one run; beyond it a call ends with a reason, not for want of memory

// Whether a field has values of a member.
bool gives(const ingest::FieldPlan& field, std::size_t member) {
  const auto& members = field.member_of;
  return members.empty() || std::find(members.begin(), members.end(), static_cast<std::int32_t>(member)) != members.end();
}

// Humidity of a level, whatever its measure, as vapour pressure: what theta_v needs and what interpolates well.
double vapour_pressure_hpa(Fed measure, double value, double celsius, double pressure_hpa) {
  switch (measure) {
    case Fed::level_relative_humidity:
      return core::saturation_vapour_pressure(Celsius(celsius)).value() * std::clamp(value, 0.0, 100.0) / 100;
    case Fed::level_specific_humidity:
      return core::vapour_pressure_of_specific_humidity(value, Hectopascals(pressure_hpa)).value();
    default: return core::saturation_vapour_pressure(Celsius(value)).value();
  }
}

}  // namespace

const std::array<std::string_view, kSurfaceQuantities> kSurfaceKeys{
    "air_temperature",      "dew_point_temperature", "wind_speed",          "wind_from_direction", "wind_gust",
    "precipitation_amount", "shortwave_radiation",   "cloud_area_fraction", "surface_pressure",    "mixing_height"};

std::size_t surface_place(std::string_view key) {
  return static_cast<std::size_t>(std::find(kSurfaceKeys.begin(), kSurfaceKeys.end(), key) - kSurfaceKeys.begin());
}

const std::array<std::string_view, kLevelQuantities> kLevelKeys{
    "inversion_strength", "inversion_top", "inversion_break_temperature", "near_ground_gradient", "haines_index",
    "c_haines",           "hot_dry_windy"};

RunColumns::RunColumns(std::vector<core::Site> points, bool all_members, UtcHour keep_before, AskedOfRun asked)
    : points_(std::move(points)), all_members_(all_members), keep_before_(keep_before), asked_(std::move(asked)) {}

void RunColumns::fail(std::string what) {
  if (errors_.empty())
    errors_.push_back({ErrorKind::failed, "bad_slab", "the reader", std::move(what), "report this with the files of the run"});
}

double RunColumns::bytes_of(const ingest::RunPlan& plan, std::size_t points, bool all_members) {
  std::array<bool, core::kFedCount> is_brought{};
  bool has_levels = false;
  for (const ingest::FieldPlan& field : plan.fields) {
    is_brought[static_cast<std::size_t>(field.fed)] = is_surface_series(field.fed);
    has_levels = has_levels || kind_of(field.fed) >= 0;
  }
  const auto slots = static_cast<double>(std::count(is_brought.begin(), is_brought.end(), true));
  const double members = all_members ? static_cast<double>(std::max<std::size_t>(plan.members, 1)) : 1,
               hours = static_cast<double>(ingest::hours_of(plan).hours),
               of_levels = has_levels ? 4.0 * static_cast<double>(kLevelQuantities) * hours +
                                            static_cast<double>(plan.levels_hpa.size() * sizeof(core::Level))
                                      : 0.0;
  const double a_series = 4 * slots * static_cast<double>(plan.steps.size()) +
                          (4.0 * static_cast<double>(kSurfaceQuantities) + 13) * hours + of_levels;
  return static_cast<double>(points) * members * a_series;
}

void RunColumns::on_plan(const ingest::RunPlan& plan) {
  plan_ = plan;
  plan_.stencils.clear();
  errors_.clear();
  const ingest::RunHours all = ingest::hours_of(plan_);
  first_ = all.first;
  hours_ = std::min(all.hours, static_cast<std::size_t>(std::max(0, keep_before_ - first_)));
  members_ = all_members_ ? std::max<std::size_t>(plan_.members, 1) : 1;

  const std::size_t steps = plan_.steps.size(), levels = plan_.levels_hpa.size();
  std::array<int, core::kFedCount> slot_of_fed;
  slot_of_fed.fill(-1);
  slot_of_field_.assign(plan_.fields.size(), -1);
  places_.clear();
  slots_ = 0;
  has_levels_ = level_wind_along_grid_ = false;
  hour_is_interpolated_.assign(hours_, 1);
  for (std::size_t f = 0; f < plan_.fields.size(); ++f) {
    const Fed fed = plan_.fields[f].fed;
    const bool is_asked = !asked_.left_out.has(fed, plan_), surface = is_asked && is_surface_series(fed),
               on_levels = is_asked && kind_of(fed) >= 0;
    if (kind_of(fed) == kLevelHumidity) level_humidity_ = fed;
    if (fed == Fed::level_x_wind) level_wind_along_grid_ = true;
    has_levels_ = has_levels_ || on_levels;
    int& slot = slot_of_fed[static_cast<std::size_t>(fed)];
    if (surface && slot < 0) slot = static_cast<int>(slots_++);
    slot_of_field_[f] = slot;
    for (std::size_t s = 0; s < steps; ++s) {
      if (plan_.field_times[f][s].begin == UtcTime::min()) continue;
      if (surface) places_.push_back({f, s, static_cast<std::size_t>(slot)});
      const UtcHour hour = UtcHour::of(plan_.steps[s]);
      if (on_levels && hour.start() == plan_.steps[s] && hour >= first_ && hour - first_ < static_cast<int>(hours_))
        hour_is_interpolated_[static_cast<std::size_t>(hour - first_)] = 0;
    }
  }
  if (const double bytes = bytes_of(plan_, points_.size(), all_members_); bytes > kMostBytes) {
    errors_.push_back({ErrorKind::unsupported, "too_large", "the run",
                       std::to_string(points_.size()) + " points by " + std::to_string(members_) + " members by " +
                           std::to_string(hours_) + " hours would take " + std::to_string(static_cast<long long>(bytes / 1e9)) +
                           " GB of memory; the most is 4 GB",
                       "assess fewer units at a time, or give fewer members"});
    return;
  }
  native_.assign((series_count() + kBlock - 1) / kBlock, std::vector<float>(slots_ * steps * kBlock, kMissing));
  values_.assign(series_count(), {});
  marks_index_.assign(series_count() * kSurfaceQuantities, 0);
  marks_.clear();
  row_of_.fill(-1);
  is_hourly_ = false;
  group_ = {};
  groups_.clear();
  waiting_ = 0;
  last_levels_.assign(has_levels_ ? series_count() * levels : 0, core::Level{});
  last_step_.assign(points_.size(), -1);
  sun_.clear();
  for (const core::Site& point : points_) sun_.emplace_back(point.latitude_deg, point.longitude_deg);
  moments_.clear();
  core::SunTrack anywhere(0, 0);
  for (std::size_t hour = 0; hour < hours_; ++hour)
    moments_.push_back(anywhere.moment((first_ + static_cast<int>(hour)).start()));
  air_ = {};
}

void RunColumns::on_slab(ingest::Slab&& slab) {
  if (!errors_.empty()) return;
  if (slab.field >= plan_.fields.size() || slab.first_step + slab.steps > plan_.steps.size() || !slab.points ||
      (slab.members != 1 && slab.members < members_) ||
      slab.values.size() != slab.steps * slab.members * slab.levels * slab.points->size())
    return fail("a block of values does not fit the plan of the run");
  for (const std::int32_t point : *slab.points)
    if (point < 0 || static_cast<std::size_t>(point) >= points_.size())
      return fail("a block of values is for a point that nobody asked for");
  const Fed fed = plan_.fields[slab.field].fed;
  if (asked_.left_out.has(fed, plan_)) return;
  if (is_surface_series(fed))
    take_surface(slab);
  else if (kind_of(fed) >= 0)
    take_levels(std::move(slab));
}

void RunColumns::take_surface(const ingest::Slab& slab) {
  if (is_hourly_)
    return fail("surface values of " + std::string(core::describe(plan_.fields[slab.field].fed).key) +
                " came after the profiles that need them");
  if (slab.levels != 1) return fail("a surface field has levels");
  const std::size_t slot = static_cast<std::size_t>(slot_of_field_[slab.field]), count = slab.points->size();
  std::vector<std::size_t> given;
  for (std::size_t member = 0; member < members_; ++member)
    if (gives(plan_.fields[slab.field], member)) given.push_back(member);
  for (std::size_t s = 0; s < slab.steps; ++s) {
    const std::size_t step = slab.first_step + s;
    if (plan_.field_times[slab.field][step].begin == UtcTime::min()) continue;  // another field's step
    const float* const from = slab.values.data() + s * slab.members * count;
    for (std::size_t p = 0; p < count; ++p) {
      for (const std::size_t member : given) {
        const std::size_t at = series(static_cast<std::size_t>((*slab.points)[p]), member);
        native_[at / kBlock][native_at(at, slot, step)] = from[(slab.members == 1 ? 0 : member) * count + p];
      }
    }
  }
}

void RunColumns::take_levels(ingest::Slab&& slab) {
  const std::size_t levels = plan_.levels_hpa.size(), count = slab.points->size();
  if (slab.levels != levels) return fail("a field on levels does not have the levels of the run");
  for (std::size_t s = 0; s < slab.steps; ++s) {
    const std::size_t step = slab.first_step + s;
    if (!group_.points || group_.step != step || (group_.points != slab.points && *group_.points != *slab.points)) {
      end_group();
      group_.step = step;
      group_.points = slab.points;
    }
    auto& values = group_.values[static_cast<std::size_t>(kind_of(plan_.fields[slab.field].fed))];
    if (values.empty() && slab.steps == 1 && slab.members == members_ && plan_.fields[slab.field].member_of.empty()) {
      values = std::move(slab.values);
      continue;
    }
    if (values.empty()) values.assign(members_ * levels * count, kMissing);
    for (std::size_t member = 0; member < members_; ++member)
      for (std::size_t level = 0; level < slab.levels && gives(plan_.fields[slab.field], member); ++level) {
        const float* from =
            slab.values.data() + ((s * slab.members + (slab.members == 1 ? 0 : member)) * slab.levels + level) * count;
        float* into = values.data() + (member * levels + level) * count;
        for (std::size_t p = 0; p < count; ++p)
          if (!std::isnan(from[p])) into[p] = from[p];  // several fields may share the levels of one quantity
      }
  }
}

bool RunColumns::has_marks(const core::Column& column, const Marks& marks) const {
  for (std::size_t i = 0; i < marks.why.size(); ++i)
    if (marks.flags[i] != (i < column.size() ? column.flags(i) : std::uint8_t{0}) ||
        marks.why[i] != (i < column.size() ? column.why(i) : Reason::gap))
      return false;
  return marks.why.size() == hours_;
}

RunColumns::Marks RunColumns::marks_of(const core::Column& column) const {
  Marks marks;
  marks.flags.reserve(hours_);
  marks.why.reserve(hours_);
  for (std::size_t i = 0; i < hours_; ++i) {
    marks.flags.push_back(i < column.size() ? column.flags(i) : std::uint8_t{0});
    marks.why.push_back(i < column.size() ? column.why(i) : Reason::gap);
  }
  return marks;
}

std::uint32_t RunColumns::place_of(Marks&& marks) {
  const auto known = std::find(marks_.rbegin(), marks_.rend(), marks);
  if (known != marks_.rend()) return static_cast<std::uint32_t>(marks_.rend() - known - 1);
  marks_.push_back(std::move(marks));
  return static_cast<std::uint32_t>(marks_.size() - 1);
}

void RunColumns::turn_hourly() {
  is_hourly_ = true;
  const std::size_t steps = plan_.steps.size();
  std::vector<std::vector<float>> no_values(plan_.fields.size());
  for (const Place& place : places_) no_values[place.field].resize(steps, kMissing);
  std::size_t rows = 0;
  if (const PointHours hourly = ingest::HourTurner(plan_, asked_.left_out).at_point(0, no_values); series_count() > 0)
    for (std::size_t q = 0; q < kSurfaceQuantities; ++q)
      if (!(hourly.*kColumns[q]).empty()) row_of_[q] = static_cast<int>(rows++);
  std::mutex marks_mutex;
  for_parts(native_.size(), [&](std::size_t first_block, std::size_t end_block) {
    ingest::HourTurner turner(plan_, asked_.left_out);
    std::vector<std::vector<float>> fields = no_values;
    std::array<std::pair<Marks, std::uint32_t>, kSurfaceQuantities> last;  // of the series before, and their place
    for (std::size_t at = first_block * kBlock; at < std::min(end_block * kBlock, series_count()); ++at) {
      std::vector<float>& native = native_[at / kBlock];
      for (const Place& place : places_) fields[place.field][place.step] = native[native_at(at, place.slot, place.step)];
      if (at % kBlock == kBlock - 1) std::vector<float>().swap(native);
      const PointHours hourly = turner.at_point(at / members_, fields);
      values_[at].assign(rows * hours_, kMissing);
      for (std::size_t q = 0; q < kSurfaceQuantities; ++q) {
        const core::Column& column = hourly.*kColumns[q];
        if (row_of_[q] < 0) continue;
        float* const row = values_[at].data() + static_cast<std::size_t>(row_of_[q]) * hours_;
        for (std::size_t i = 0; i < std::min(column.size(), hours_); ++i) row[i] = column[i];
        auto& [marks, place] = last[q];
        if (!has_marks(column, marks)) {
          marks = marks_of(column);
          const std::lock_guard lock(marks_mutex);
          place = place_of(Marks(marks));
        }
        marks_index_[at * kSurfaceQuantities + q] = place;
      }
    }
  });
  native_.clear();
  native_.shrink_to_fit();
  const std::size_t all = series_count() * hours_;
  for (auto* values : {&air_.mixing_height, &air_.speed, &air_.direction}) values->assign(all, kMissing);
  for (std::size_t q = 0; q < kLevelQuantities && has_levels_; ++q)
    if (q == kInversionStrength || asked_.depth == core::AirDepth::all) air_.of_levels[q].assign(all, kMissing);
  air_.status.assign(all, 0);
}

// The group has all its values: it waits until there is enough work to spread.
void RunColumns::end_group() {
  if (!group_.points) return;
  if (!is_hourly_) turn_hourly();
  for (const std::int32_t point : *group_.points) {
    std::int32_t& last = last_step_[static_cast<std::size_t>(point)];
    if (last >= static_cast<std::int32_t>(group_.step)) return fail("profiles came out of their order in time");
    group_.before.push_back(std::exchange(last, static_cast<std::int32_t>(group_.step)));
  }
  waiting_ += group_.points->size() * members_;
  groups_.push_back(std::exchange(group_, {}));
  if (waiting_ >= kWorthSpreading) reduce_groups();
}

// Each processor takes the points that are its own, and of groups with the same points a few at a time through all of them, so
// that their hours are near at hand, and so is what one line of the cache holds of a level.
void RunColumns::reduce_groups() {
  for_parts(points_.size(), [&](std::size_t first_point, std::size_t end_point) {
    Bench bench;
    for (std::size_t g = 0, next = 0; g < groups_.size(); g = next) {
      const ingest::PointList& points = *groups_[g].points;
      while (next < groups_.size() && (groups_[next].points == groups_[g].points || *groups_[next].points == points)) ++next;
      for (std::size_t member = 0; member < members_; ++member)
        for (std::size_t begin = 0; begin < points.size(); begin += kBlock)
          for (std::size_t of = g; of < next; ++of)
            for (std::size_t p = begin; p < std::min(begin + kBlock, points.size()); ++p)
              if (const auto point = static_cast<std::size_t>(points[p]); point >= first_point && point < end_point)
                reduce_profile(groups_[of], p, member, bench);
    }
  });
  groups_.clear();
  waiting_ = 0;
}

// The hours of a point after the profile before, up to this one.
void RunColumns::reduce_profile(const Group& group, std::size_t p, std::size_t member, Bench& bench) {
  const std::size_t level_count = plan_.levels_hpa.size();
  const UtcTime now = plan_.steps[group.step];
  const auto point = static_cast<std::size_t>((*group.points)[p]);
  levels_of_group(group, p, member, bench.levels);
  const std::span<core::Level> before(last_levels_.data() + series(point, member) * level_count, level_count);
  const std::int32_t last = group.before[p];
  if (const UtcTime then = last < 0 ? now : plan_.steps[static_cast<std::size_t>(last)]; now - then <= kLongestStep) {
    bench.between.resize(level_count);
    for (UtcHour hour = first_hour_from(then + std::chrono::seconds(1)); hour.start() < now; hour = hour + 1) {
      if (!keeps(hour) || asked_.left_out.has_levels_of(hour)) continue;
      core::interpolate(before, bench.levels,
                        static_cast<double>((hour.start() - then).count()) / static_cast<double>((now - then).count()),
                        bench.between);
      reduce_hour(point, member, hour, bench.between, bench.column);
    }
  }
  if (const UtcHour hour = UtcHour::of(now); hour.start() == now && keeps(hour) && !asked_.left_out.has_levels_of(hour))
    reduce_hour(point, member, hour, bench.levels, bench.column);
  std::copy(bench.levels.begin(), bench.levels.end(), before.begin());
}

void RunColumns::reduce_hour(std::size_t point, std::size_t member, UtcHour at_hour, std::span<const core::Level> levels,
                             core::AirColumn& column) {
  const auto hour = static_cast<std::size_t>(at_hour - first_);
  const core::AirHour air = core::reduce_air(levels, surface_air(point, member, hour), column, asked_.depth);
  const std::size_t at = series(point, member) * hours_ + hour;
  air_.mixing_height[at] = static_cast<float>(air.mixing.height.value());
  if (!air.transport.at_surface) {
    air_.speed[at] = static_cast<float>(to<KilometresPerHour>(air.transport.speed).value());
    air_.direction[at] = static_cast<float>(air.transport.from_direction.value());
  }
  if (air.has_column && has_levels_) {
    const std::array<double, kLevelQuantities> of_levels{
        air.inversion.strength_k,      air.inversion.top.value(), air.break_temperature.value(),
        air.near_ground_gradient_k_km, air.haines_index,          air.c_haines,
        air.hot_dry_windy.value};
    for (std::size_t q = 0; q < kLevelQuantities; ++q)
      if (!air_.of_levels[q].empty()) air_.of_levels[q][at] = static_cast<float>(of_levels[q]);
  }
  air_.status[at] =
      static_cast<std::uint8_t>(static_cast<std::uint8_t>(air.mixing.method) | (air.mixing.methods_disagree ? kDisagree : 0) |
                                (air.mixing.at_least ? kAtLeast : 0) | (levels.empty() ? 0 : kHadLevels) |
                                (air.hot_dry_windy.is_coarse ? kFewLevels : 0) | kReduced);
}

void RunColumns::levels_of_group(const Group& group, std::size_t p, std::size_t member, std::vector<core::Level>& levels) const {
  const std::size_t count = plan_.levels_hpa.size(), points = group.points->size(),
                    point = static_cast<std::size_t>((*group.points)[p]);
  levels.resize(count);
  std::array<const float*, std::tuple_size_v<decltype(group.values)>> first{};
  for (std::size_t kind = 0; kind < first.size(); ++kind)
    if (!group.values[kind].empty()) first[kind] = group.values[kind].data() + member * count * points + p;
  const auto value = [&](Kind kind, std::size_t level) {
    return static_cast<double>(first[kind] ? first[kind][level * points] : kMissing);
  };
  const double ground = model_elevation(point).value();
  // Turning a direction clockwise turns the vector clockwise.
  const double angle = level_wind_along_grid_ && point < plan_.wind_rotation_deg.size()
                           ? static_cast<double>(plan_.wind_rotation_deg[point]) * std::numbers::pi / 180
                           : 0;
  const double c = std::cos(angle), s = std::sin(angle);
  for (std::size_t i = 0; i < count; ++i) {
    const double t = value(kLevelTemperature, i), u = value(kLevelU, i) / 3.6, v = value(kLevelV, i) / 3.6;
    levels[i] = {plan_.levels_hpa[i],
                 value(kLevelHeight, i) - ground,
                 t,
                 vapour_pressure_hpa(level_humidity_, value(kLevelHumidity, i), t, plan_.levels_hpa[i]),
                 u * c + v * s,
                 v * c - u * s};
  }
}

core::SurfaceAir RunColumns::surface_air(std::size_t point, std::size_t member, std::size_t hour) const {
  // Numbers only: surface() looks up flags and reasons too.
  const float* const rows = values_[series(point, member)].data() + hour;
  const auto value = [&](Quantity q) {
    return static_cast<double>(row_of_[q] < 0 ? kMissing : rows[static_cast<std::size_t>(row_of_[q]) * hours_]);
  };
  return {.temperature = Celsius(value(kTemperature)),
          .dew_point = Celsius(value(kDewPoint)),
          .pressure = Hectopascals(value(kPressure)),
          .wind_speed = KilometresPerHour(value(kWindSpeed)),
          .wind_from_direction = Degrees(value(kWindDirection)),
          .cloud = Percent(value(kCloud)),
          .solar_elevation = sun_[point].elevation(moments_[hour]),
          .latitude = Degrees(points_[point].latitude_deg),
          .model_mixing_height = Metres(value(kMixingHeight)),
          .ground_elevation = model_elevation(point)};
}

Result<bool> RunColumns::finish() {
  if (errors_.empty()) end_group();
  if (!errors_.empty()) return errors_;
  if (!is_hourly_) turn_hourly();
  reduce_groups();
  // Hours without levels still have the feed's own mixing height.
  if (row_of_[kMixingHeight] >= 0)
    for_all(points_.size(), [&](std::size_t point) {
      core::AirColumn column;
      for (std::size_t member = 0; member < members_; ++member)
        for (std::size_t hour = 0; hour < hours_; ++hour)
          if (!(air_.status[series(point, member) * hours_ + hour] & kReduced))
            reduce_hour(point, member, first_ + static_cast<int>(hour), {}, column);
    });
  std::vector<core::Level>().swap(last_levels_);
  std::vector<core::SunTrack>().swap(sun_);
  return true;
}

Metres RunColumns::model_elevation(std::size_t point) const {
  return point < plan_.model_elevation_m.size() ? Metres(static_cast<double>(plan_.model_elevation_m[point])) : Metres::missing();
}

RunColumns::Surface RunColumns::surface(std::size_t point, std::size_t member, std::size_t quantity) const {
  if (row_of_[quantity] < 0) return {{}, nullptr};
  const std::size_t at = series(point, member);
  return {std::span(values_[at]).subspan(static_cast<std::size_t>(row_of_[quantity]) * hours_, hours_),
          &marks_[marks_index_[at * kSurfaceQuantities + quantity]]};
}

RunColumns::Value RunColumns::surface(std::size_t point, std::size_t member, std::size_t quantity, std::size_t hour) const {
  if (row_of_[quantity] < 0) return {kMissing, 0, Reason::not_in_feed};
  const Surface column = surface(point, member, quantity);
  return {column.values[hour], column.marks->flags[hour], column.marks->why[hour]};
}

RunColumns::Air RunColumns::air(std::size_t point, std::size_t member, std::size_t hour) const {
  const std::size_t at = series(point, member) * hours_ + hour;
  const std::uint8_t status = air_.status[at];
  const auto method = static_cast<core::MixingMethod>(status & kMethodMask);
  const bool had_levels = status & kHadLevels, run_could = has_levels_ || row_of_[kMixingHeight] >= 0;
  // The feed has what it takes, only not for this hour; or what it has does not make a profile.
  const Reason why = run_could && !had_levels ? Reason::gap : Reason::no_profile;
  const std::uint8_t of_levels = hour_is_interpolated_[hour] ? flag::kInterpolated : std::uint8_t{0};
  const auto value = [&](float v, std::uint8_t flags) { return Value{v, flags, std::isnan(v) ? why : Reason::none}; };
  const std::uint8_t of_mixing =
      static_cast<std::uint8_t>((method == core::MixingMethod::model
                                     ? surface(point, member, kMixingHeight, hour).flags
                                     : of_levels | (surface(point, member, kTemperature, hour).flags & flag::kInterpolated)) |
                                (status & kAtLeast ? flag::kAtLeast : 0));
  Air air{value(air_.mixing_height[at], of_mixing),
          value(air_.speed[at], of_levels),
          value(air_.direction[at], of_levels),
          {},
          method,
          (status & kDisagree) != 0};
  for (std::size_t q = 0; q < kLevelQuantities; ++q)
    air.of_levels[q] = value(air_.of_levels[q].empty() ? kMissing : air_.of_levels[q][at], of_levels);
  if (air.of_levels[kInversionStrength].value == 0) air.of_levels[kBreakTemperature].why = Reason::not_applicable;
  if (status & kFewLevels) air.of_levels[kHotDryWindy].flags |= flag::kOutOfDomain;
  return air;
}

}  // namespace hakea::service
