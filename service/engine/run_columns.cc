#include "service/engine/run_columns.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "core/base/zone.h"
#include "core/weather/humidity.h"

namespace hakea::service {

using core::Fed;
using core::Reason;
using ingest::PointHours;
namespace flag = core::flag;

namespace {

constexpr std::array<core::Column PointHours::*, kSurfaceQuantities> kColumns{
    &PointHours::air_temperature,      &PointHours::dew_point_temperature, &PointHours::wind_speed,          &PointHours::wind_from_direction, &PointHours::wind_gust,
    &PointHours::precipitation_amount, &PointHours::shortwave_radiation,   &PointHours::cloud_area_fraction, &PointHours::surface_pressure,    &PointHours::mixing_height};
enum Quantity : std::size_t { kTemperature, kDewPoint, kWindSpeed, kWindDirection, kGust, kRain, kRadiation, kCloud, kPressure, kMixingHeight };

enum Kind : std::size_t { kLevelTemperature, kLevelHumidity, kLevelU, kLevelV, kLevelHeight };

// Bits of PackedAir::status above the method.
constexpr std::uint8_t kMethodMask = 7, kDisagree = 8, kAtLeast = 16, kHadLevels = 32, kHasColumn = 64;

constexpr float kMissing = std::numeric_limits<float>::quiet_NaN();
constexpr auto kLongestStep = std::chrono::hours(6);   // instants are not interpolated across longer ones

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

// Humidity of a level, whatever its measure, as vapour pressure: what theta_v needs and what interpolates well.
double vapour_pressure_hpa(Fed measure, double value, double celsius, double pressure_hpa) {
  switch (measure) {
    case Fed::level_relative_humidity:
      return core::saturation_vapour_pressure(Celsius(celsius)).value() * std::clamp(value, 0.0, 100.0) / 100;
    case Fed::level_specific_humidity: return core::vapour_pressure_of_specific_humidity(value, Hectopascals(pressure_hpa)).value();
    default: return core::saturation_vapour_pressure(Celsius(value)).value();
  }
}

}  // namespace

const std::array<std::string_view, kSurfaceQuantities> kSurfaceKeys{
    "air_temperature", "dew_point_temperature", "wind_speed", "wind_from_direction", "wind_gust",
    "precipitation_amount", "shortwave_radiation", "cloud_area_fraction", "surface_pressure", "mixing_height"};

RunColumns::RunColumns(std::vector<core::Site> points, bool all_members, UtcHour keep_before)
    : points_(std::move(points)), all_members_(all_members), keep_before_(keep_before) {}

void RunColumns::fail(std::string what) {
  if (errors_.empty()) errors_.push_back({ErrorKind::failed, "bad_slab", "the reader", std::move(what), "report this with the files of the run"});
}

void RunColumns::on_plan(const ingest::RunPlan& plan) {
  plan_ = plan;
  plan_.stencils.clear();
  errors_.clear();
  const ingest::RunHours all = ingest::hours_of(plan_);
  first_ = all.first;
  hours_ = std::min(all.hours, static_cast<std::size_t>(std::max(0, keep_before_ - first_)));
  members_ = all_members_ ? std::max<std::size_t>(plan_.members, 1) : 1;

  const std::size_t fields = plan_.fields.size(), steps = plan_.steps.size();
  slot_of_field_.assign(fields, -1);
  slots_ = 0;
  has_level_fields_ = false;
  level_wind_along_grid_ = false;
  for (std::size_t f = 0; f < fields; ++f) {
    if (kind_of(plan_.fields[f].fed) == kLevelHumidity) level_humidity_ = plan_.fields[f].fed;
    if (plan_.fields[f].fed == Fed::level_x_wind) level_wind_along_grid_ = true;
    const bool surface = is_surface_series(plan_.fields[f].fed);
    if (surface) slot_of_field_[f] = static_cast<int>(slots_++);
    if (!surface && kind_of(plan_.fields[f].fed) >= 0) has_level_fields_ = true;
  }

  native_.assign(series_count(), std::vector<float>(slots_ * steps, kMissing));
  values_.assign(series_count(), {});
  marks_index_.assign(series_count() * kSurfaceQuantities, 0);
  marks_.clear();
  row_of_.fill(-1);
  is_hourly_ = false;
  group_points_.reset();
  group_ = last_ = {};
  last_step_.assign(points_.size(), -1);
  sun_.clear();
  for (const core::Site& point : points_) sun_.emplace_back(point.latitude_deg, point.longitude_deg);
  air_ = {};
  hour_is_interpolated_.assign(hours_, 0);
  hour_is_reduced_.assign(hours_, 0);
}

void RunColumns::on_slab(ingest::Slab&& slab) {
  if (!errors_.empty()) return;
  const std::size_t cells = slab.steps * slab.members * slab.levels * slab.points->size();
  const auto is_known = [&](std::int32_t p) { return p >= 0 && static_cast<std::size_t>(p) < points_.size(); };
  if (slab.field >= plan_.fields.size() || slab.first_step + slab.steps > plan_.steps.size() || !std::all_of(slab.points->begin(), slab.points->end(), is_known) ||
      (slab.members != 1 && slab.members < members_) || slab.values.size() != cells)
    return fail("a block of values does not fit the plan of the run");
  const Fed fed = plan_.fields[slab.field].fed;
  if (is_surface_series(fed)) take_surface(slab);
  else if (kind_of(fed) >= 0) take_levels(slab);
}

void RunColumns::take_surface(const ingest::Slab& slab) {
  if (is_hourly_) return fail("surface values of " + std::string(core::describe(plan_.fields[slab.field].fed).key) + " came after the profiles that need them");
  if (slab.levels != 1) return fail("a surface field has levels");
  const std::size_t points = slab.points->size();
  const std::size_t steps = plan_.steps.size(), slot = static_cast<std::size_t>(slot_of_field_[slab.field]);
  for (std::size_t member = 0; member < members_; ++member) {
    const std::size_t from_member = slab.members == 1 ? 0 : member;
    for (std::size_t p = 0; p < points; ++p) {
      float* series_values = native_[series(static_cast<std::size_t>((*slab.points)[p]), member)].data() + slot * steps + slab.first_step;
      for (std::size_t s = 0; s < slab.steps; ++s) series_values[s] = slab.values[(s * slab.members + from_member) * points + p];
    }
  }
}

void RunColumns::take_levels(const ingest::Slab& slab) {
  const std::size_t levels = plan_.levels_hpa.size(), points = slab.points->size();
  if (slab.levels != levels || slab.steps != 1) return fail("a field on levels does not come by steps with the levels of the run");
  if (!is_hourly_) turn_hourly();
  if (slab.points != group_points_ || slab.first_step != group_step_) {
    reduce_group();
    group_points_ = slab.points;
    group_step_ = slab.first_step;
    group_.points = points;
  }
  auto& values = group_.values[static_cast<std::size_t>(kind_of(plan_.fields[slab.field].fed))];
  values.resize(members_ * levels * points);
  for (std::size_t member = 0; member < members_; ++member) {
    const std::size_t from_member = slab.members == 1 ? 0 : member;
    const float* from = slab.values.data() + from_member * levels * points;
    std::copy(from, from + levels * points, values.begin() + static_cast<std::ptrdiff_t>(member * levels * points));
  }
}

std::uint32_t RunColumns::marks_of(const core::Column& column) {
  Marks marks;
  marks.flags.reserve(hours_);
  marks.why.reserve(hours_);
  for (std::size_t i = 0; i < hours_; ++i) {
    marks.flags.push_back(i < column.size() ? column.flags(i) : std::uint8_t{0});
    marks.why.push_back(i < column.size() ? column.why(i) : Reason::gap);
  }
  const auto known = std::find(marks_.rbegin(), marks_.rend(), marks);
  if (known != marks_.rend()) return static_cast<std::uint32_t>(marks_.rend() - known - 1);
  marks_.push_back(std::move(marks));
  return static_cast<std::uint32_t>(marks_.size() - 1);
}

void RunColumns::turn_hourly() {
  is_hourly_ = true;
  const std::size_t steps = plan_.steps.size();
  std::vector<std::vector<float>> fields(plan_.fields.size());
  for (std::size_t member = 0; member < members_; ++member)
    for (std::size_t point = 0; point < points_.size(); ++point) {
      const std::size_t at = series(point, member);
      for (std::size_t f = 0; f < fields.size(); ++f)
        if (slot_of_field_[f] >= 0) {
          const float* begin = native_[at].data() + static_cast<std::size_t>(slot_of_field_[f]) * steps;
          fields[f].assign(begin, begin + steps);
        }
      std::vector<float>().swap(native_[at]);
      const PointHours hourly = ingest::hourly(plan_, fields, point);
      if (at == 0) {
        int rows = 0;
        for (std::size_t q = 0; q < kSurfaceQuantities; ++q)
          if (!(hourly.*kColumns[q]).empty()) row_of_[q] = rows++;
      }
      const auto rows = static_cast<std::size_t>(std::count_if(row_of_.begin(), row_of_.end(), [](int row) { return row >= 0; }));
      values_[at].assign(rows * hours_, kMissing);
      for (std::size_t q = 0; q < kSurfaceQuantities; ++q) {
        const core::Column& column = hourly.*kColumns[q];
        if (row_of_[q] < 0) continue;
        std::copy_n(column.values().begin(), std::min(column.size(), hours_), values_[at].begin() + static_cast<std::ptrdiff_t>(static_cast<std::size_t>(row_of_[q]) * hours_));
        marks_index_[at * kSurfaceQuantities + q] = marks_of(column);
      }
    }
  native_.clear();
  native_.shrink_to_fit();
  const std::size_t all = series_count() * hours_;
  for (auto* values : {&air_.mixing_height, &air_.speed, &air_.direction, &air_.strength, &air_.top}) values->assign(all, kMissing);
  air_.status.assign(all, 0);
}

// The hours after the profile before, up to this one.
void RunColumns::reduce_group() {
  if (!group_points_) return;
  const std::vector<std::int32_t>& points = *group_points_;
  const UtcTime now = plan_.steps[group_step_];
  const std::int32_t last = last_step_[static_cast<std::size_t>(points.front())];
  const bool has_last = last >= 0 && static_cast<std::size_t>(last) < group_step_ &&
                        std::all_of(points.begin(), points.end(), [&](std::int32_t p) { return last_step_[static_cast<std::size_t>(p)] == last; });
  const UtcTime before = has_last ? plan_.steps[static_cast<std::size_t>(last)] : now;
  if (now - before <= kLongestStep)
    for (UtcHour hour = first_hour_from(before + std::chrono::seconds(1)); hour.start() < now; hour = hour + 1) {
      if (hour < first_ || hour - first_ >= static_cast<int>(hours_)) continue;
      const auto i = static_cast<std::size_t>(hour - first_);
      hour_is_interpolated_[i] = 1;
      reduce_hour(i, points, true, true, static_cast<double>((hour.start() - before).count()) / static_cast<double>((now - before).count()));
    }
  const UtcHour hour = UtcHour::of(now);
  if (hour.start() == now && hour >= first_ && hour - first_ < static_cast<int>(hours_)) reduce_hour(static_cast<std::size_t>(hour - first_), points, true, false, 1);

  const std::size_t planes = members_ * plan_.levels_hpa.size(), all = points_.size();
  last_.points = all;
  for (std::size_t kind = 0; kind < group_.values.size(); ++kind) {
    if (!group_.values[kind].empty()) last_.values[kind].resize(planes * all, kMissing);
    for (std::size_t plane = 0; plane < planes && !last_.values[kind].empty(); ++plane)
      for (std::size_t p = 0; p < points.size(); ++p)
        last_.values[kind][plane * all + static_cast<std::size_t>(points[p])] = group_.values[kind].empty() ? kMissing : group_.values[kind][plane * points.size() + p];
  }
  for (const std::int32_t p : points) last_step_[static_cast<std::size_t>(p)] = static_cast<std::int32_t>(group_step_);
  for (auto& values : group_.values) values.clear();
  group_points_.reset();
}

// Without a profile only the feed's own mixing height is left; between two steps the profile is interpolated.
void RunColumns::reduce_hour(std::size_t hour, std::span<const std::int32_t> points, bool has_profile, bool is_between, double share) {
  hour_is_reduced_[hour] = 1;
  for (std::size_t member = 0; member < members_; ++member)
    for (std::size_t place = 0; place < points.size(); ++place) {
      const auto point = static_cast<std::size_t>(points[place]);
      std::span<const core::Level> levels;
      if (has_profile) {
        levels_of(group_, place, point, member, levels_b_);
        levels = levels_b_;
      }
      if (is_between) {
        levels_of(last_, point, point, member, levels_a_);
        levels_between_.resize(levels_a_.size());
        core::interpolate(levels_a_, levels_b_, share, levels_between_);
        levels = levels_between_;
      }
      const core::AirHour air = core::reduce_air(levels, surface_air(point, member, hour), column_);
      const std::size_t at = series(point, member) * hours_ + hour;
      air_.mixing_height[at] = static_cast<float>(air.mixing.height.value());
      if (!air.transport.at_surface) {
        air_.speed[at] = static_cast<float>(to<KilometresPerHour>(air.transport.speed).value());
        air_.direction[at] = static_cast<float>(air.transport.from_direction.value());
      }
      if (air.has_column) {
        air_.strength[at] = static_cast<float>(air.inversion.strength_k);
        air_.top[at] = static_cast<float>(air.inversion.top.value());
      }
      air_.status[at] = static_cast<std::uint8_t>(static_cast<std::uint8_t>(air.mixing.method) | (air.mixing.methods_disagree ? kDisagree : 0) |
                                                  (air.mixing.at_least ? kAtLeast : 0) | (has_profile ? kHadLevels : 0) | (air.has_column ? kHasColumn : 0));
    }
}

void RunColumns::levels_of(const Profiles& profiles, std::size_t place, std::size_t point, std::size_t member, std::vector<core::Level>& levels) const {
  const std::size_t count = plan_.levels_hpa.size();
  levels.resize(count);
  const auto value = [&](Kind kind, std::size_t level) {
    const auto& values = profiles.values[kind];
    return values.empty() ? std::numeric_limits<double>::quiet_NaN() : static_cast<double>(values[(member * count + level) * profiles.points + place]);
  };
  const double ground = model_elevation(point).value();
  // Turning a direction clockwise turns the vector clockwise.
  const double angle = level_wind_along_grid_ && point < plan_.wind_rotation_deg.size() ? static_cast<double>(plan_.wind_rotation_deg[point]) * std::numbers::pi / 180 : 0;
  const double c = std::cos(angle), s = std::sin(angle);
  for (std::size_t i = 0; i < count; ++i) {
    const double t = value(kLevelTemperature, i), u = value(kLevelU, i) / 3.6, v = value(kLevelV, i) / 3.6;
    levels[i] = {plan_.levels_hpa[i], value(kLevelHeight, i) - ground, t, vapour_pressure_hpa(level_humidity_, value(kLevelHumidity, i), t, plan_.levels_hpa[i]),
                 u * c + v * s, v * c - u * s};
  }
}

core::SurfaceAir RunColumns::surface_air(std::size_t point, std::size_t member, std::size_t hour) {
  const auto value = [&](Quantity q) { return static_cast<double>(surface(point, member, q, hour).value); };
  return {.temperature = Celsius(value(kTemperature)), .dew_point = Celsius(value(kDewPoint)), .pressure = Hectopascals(value(kPressure)),
          .wind_speed = KilometresPerHour(value(kWindSpeed)), .wind_from_direction = Degrees(value(kWindDirection)), .cloud = Percent(value(kCloud)),
          .solar_elevation = sun_[point].at((first_ + static_cast<int>(hour)).start()).elevation, .latitude = Degrees(points_[point].latitude_deg),
          .model_mixing_height = Metres(value(kMixingHeight))};
}

Result<bool> RunColumns::finish() {
  if (!errors_.empty()) return errors_;
  if (!is_hourly_) turn_hourly();
  reduce_group();
  // Hours without levels still have the feed's own mixing height.
  std::vector<std::int32_t> everywhere(points_.size());
  std::iota(everywhere.begin(), everywhere.end(), 0);
  for (std::size_t hour = 0; hour < hours_; ++hour)
    if (!hour_is_reduced_[hour]) reduce_hour(hour, everywhere, false, false, 0);
  group_ = last_ = {};
  std::vector<core::SunTrack>().swap(sun_);
  if (!errors_.empty()) return errors_;
  return true;
}

Metres RunColumns::model_elevation(std::size_t point) const {
  return point < plan_.model_elevation_m.size() ? Metres(static_cast<double>(plan_.model_elevation_m[point])) : Metres::missing();
}

RunColumns::Value RunColumns::surface(std::size_t point, std::size_t member, std::size_t quantity, std::size_t hour) const {
  if (row_of_[quantity] < 0) return {kMissing, 0, Reason::not_in_feed};
  const std::size_t at = series(point, member);
  const Marks& marks = marks_[marks_index_[at * kSurfaceQuantities + quantity]];
  return {values_[at][static_cast<std::size_t>(row_of_[quantity]) * hours_ + hour], marks.flags[hour], marks.why[hour]};
}

RunColumns::Air RunColumns::air(std::size_t point, std::size_t member, std::size_t hour) const {
  const std::size_t at = series(point, member) * hours_ + hour;
  const std::uint8_t status = air_.status[at];
  const auto method = static_cast<core::MixingMethod>(status & kMethodMask);
  const bool had_levels = status & kHadLevels, run_could = has_level_fields_ || row_of_[kMixingHeight] >= 0;
  // The feed has what it takes, only not for this hour; or what it has does not make a profile.
  const Reason why = run_could && !had_levels ? Reason::gap : Reason::no_profile;
  const std::uint8_t of_levels = hour_is_interpolated_[hour] ? flag::kInterpolated : std::uint8_t{0};
  const auto value = [&](float v, std::uint8_t flags) { return Value{v, flags, std::isnan(v) ? why : Reason::none}; };
  const std::uint8_t of_mixing = static_cast<std::uint8_t>(
      (method == core::MixingMethod::model ? surface(point, member, kMixingHeight, hour).flags
                                           : of_levels | (surface(point, member, kTemperature, hour).flags & flag::kInterpolated)) |
      (status & kAtLeast ? flag::kAtLeast : 0));
  return {value(air_.mixing_height[at], of_mixing), value(air_.speed[at], of_levels), value(air_.direction[at], of_levels),
          value(air_.strength[at], of_levels), value(air_.top[at], of_levels), method, (status & kDisagree) != 0};
}

}  // namespace hakea::service
