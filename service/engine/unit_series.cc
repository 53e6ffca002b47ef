#include "service/engine/unit_series.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>

#include "core/catalogue/catalogue.h"
#include "core/weather/elevation.h"

namespace hakea::service {
namespace {

using core::Reason;
using Value = RunColumns::Value;

enum { kTemperature = 0, kDewPoint = 1, kDirection = 3, kPressure = 8, kMixingHeight = 9 };

constexpr std::uint8_t kDisagrees = 0x80;
constexpr std::uint32_t kPackedAs = 0x34534b48;  // "HKS4": changes with the layout below

constexpr unsigned kSeaBit = 24;

// What stands before the columns. Read by the machine that wrote it: the series can be made again.
struct PackedHead {
  std::uint32_t packed_as, hours, columns;
  std::int32_t first;
  float model_elevation_m;
  std::uint32_t columns_at_hand;  // bit by column; from kSeaBit on ingest::Sea
  double place_latitude, place_longitude, sampled_latitude, sampled_longitude;
  std::uint64_t station;  // bytes of its name, which comes next
};

void put(Value& value, double corrected) {
  if (!std::isnan(value.value)) value.value = static_cast<float>(corrected);
}

void set(core::Column& column, std::size_t i, const Value& value) {
  column.set(i, static_cast<double>(value.value), value.flags, value.why == Reason::none ? Reason::gap : value.why);
}

template <class T>
void append(std::string& bytes, const std::vector<T>& values) {
  bytes.append(reinterpret_cast<const char*>(values.data()), values.size() * sizeof(T));
}

// Marks are the same hour after hour: how often (two bytes), and what.
void append_runs(std::string& bytes, const std::vector<std::uint8_t>& marks) {
  for (std::size_t i = 0; i < marks.size();) {
    std::size_t end = i + 1;
    while (end < marks.size() && marks[end] == marks[i] && end - i < std::numeric_limits<std::uint16_t>::max()) ++end;
    const auto length = static_cast<std::uint16_t>(end - i);
    bytes.append(reinterpret_cast<const char*>(&length), sizeof length);
    bytes.push_back(static_cast<char>(marks[i]));
    i = end;
  }
}

// False where the runs do not make up so many marks.
bool take_runs(std::string_view& bytes, std::vector<std::uint8_t>& marks, std::size_t count) {
  marks.reserve(count);
  while (marks.size() < count) {
    std::uint16_t length = 0;
    if (bytes.size() <= sizeof length) return false;
    std::memcpy(&length, bytes.data(), sizeof length);
    if (length == 0 || length > count - marks.size()) return false;
    marks.insert(marks.end(), length, static_cast<std::uint8_t>(bytes[sizeof length]));
    bytes.remove_prefix(sizeof length + 1);
  }
  return true;
}

template <class T>
void take(std::string_view& bytes, std::vector<T>& values, std::size_t count) {
  values.resize(count);
  std::memcpy(values.data(), bytes.data(), count * sizeof(T));
  bytes.remove_prefix(count * sizeof(T));
}

// Places of a series' columns.
enum : std::size_t { kMixing = kSurfaceQuantities, kSpeed, kFrom, kOfLevels, kBreak = kOfLevels + kBreakTemperature };

// A value of a column at the unit's ground; `model` is the air of its hour.
double moved(std::size_t column, double value, core::AirAndDew model, core::ElevationStep step) {
  switch (column) {
    case kTemperature: return core::at_unit_elevation(model, step).air.value();
    case kDewPoint: return core::at_unit_elevation(model, step).dew_point.value();
    case kPressure: return core::at_unit_elevation(Hectopascals(value), model.air, step).value();
    case kMixing: return core::mixing_height_above_unit(Metres(value), step).value();
    case kBreak: return value + core::at_unit_elevation(model, step).air.value() - model.air.value();
    default: return value;
  }
}

}  // namespace

RunHour at_unit(RunHour hour, Metres model_elevation, Metres unit_elevation) {
  const core::ElevationStep step{model_elevation, unit_elevation};
  if (!step.model.is_missing() && !step.unit.is_missing()) {
    const auto number = [&](std::size_t q) { return static_cast<double>(hour.surface[q].value); };
    const core::AirAndDew model{Celsius(number(kTemperature)), Celsius(number(kDewPoint))};
    const auto move = [&](std::size_t column, Value& value) {
      put(value, moved(column, static_cast<double>(value.value), model, step));
    };
    for (const std::size_t q : {kTemperature, kDewPoint, kPressure}) move(q, hour.surface[q]);
    move(kMixing, hour.air.mixing_height);
    move(kBreak, hour.air.of_levels[kBreakTemperature]);
  }
  hour.surface[kMixingHeight] = hour.air.mixing_height;
  return hour;
}

FedColumns::FedColumns(core::UnitHours& hours)
    : hours_(&hours),
      speed_(&hours["transport_wind_speed"]),
      direction_(&hours["transport_wind_from_direction"]),
      is_covered_(hours.hours) {
  for (std::size_t q = 0; q < kSurfaceQuantities; ++q) surface_[q] = &hours[kSurfaceKeys[q]];
  for (std::size_t q = 0; q < kLevelQuantities; ++q) of_levels_[q] = &hours[kLevelKeys[q]];
  hours.mixing.resize(hours.hours);
}

bool FedColumns::take(std::size_t i, const RunHour& hour) {
  const bool covered = is_covered_[i];
  bool complete = true;
  const auto take = [&](core::Column& column, const Value& value) {
    if (!covered || column.is_missing(i)) {
      if (!covered || !std::isnan(value.value)) set(column, i, value);
      complete = complete && !column.is_missing(i);
    }
  };
  if (hours_->mixing[i].method == core::MixingMethod::none) hours_->mixing[i] = {hour.air.method, hour.air.methods_disagree};
  for (std::size_t q = 0; q < kSurfaceQuantities; ++q) take(*surface_[q], hour.surface[q]);
  // All that was made of one hour's levels belongs together; only the strength of an inversion always comes of them.
  core::Column& strength = *of_levels_[kInversionStrength];
  if (!covered || strength.is_missing(i))
    for (std::size_t q = 0; q < kLevelQuantities; ++q)
      if (!covered || !std::isnan(hour.air.of_levels[kInversionStrength].value)) set(*of_levels_[q], i, hour.air.of_levels[q]);
  complete = complete && !strength.is_missing(i);
  // The transport wind belongs to the mixing height it was taken up to.
  if (!covered || (speed_->is_missing(i) && direction_->is_missing(i))) {
    set(*speed_, i, hour.air.transport_wind_speed);
    set(*direction_, i, hour.air.transport_wind_from_direction);
  }
  is_covered_[i] = true;
  return complete;
}

void FedColumns::take_all(const UnitSeries& series, Metres unit_elevation, const core::Rows& wanted) {
  std::array<core::Column*, UnitSeries::kColumns> columns{};
  std::copy(surface_.begin(), surface_.end(), columns.begin());
  columns[kMixingHeight] = nullptr;  // the feed's own is among those that the air's is chosen from
  columns[kMixing] = surface_[kMixingHeight], columns[kSpeed] = speed_, columns[kFrom] = direction_;
  std::copy(of_levels_.begin(), of_levels_.end(), columns.begin() + kOfLevels);

  const auto from = static_cast<std::size_t>(hours_->first - series.first());
  const core::ElevationStep step{series.model_elevation(), unit_elevation};
  const auto temperature = series.column(kTemperature), dew_point = series.column(kDewPoint);
  const auto celsius = [](float value) { return Celsius(static_cast<double>(value)); };
  const bool moves = !step.model.is_missing() && !step.unit.is_missing();
  for (std::size_t c = 0; c < columns.size(); ++c) {
    if (!columns[c] || !wanted[static_cast<std::size_t>(columns[c] - hours_->columns.data())]) continue;
    const auto given = series.column(c);
    for (std::size_t i = 0; i < hours_->hours; ++i) {
      Value value = given[from + i];
      if (moves && !std::isnan(value.value)) {
        const core::AirAndDew model{celsius(temperature[from + i].value), celsius(dew_point[from + i].value)};
        put(value, moved(c, static_cast<double>(value.value), model, step));
      }
      set(*columns[c], i, value);
    }
  }
  for (std::size_t i = 0; i < hours_->hours; ++i) hours_->mixing[i] = series.mixing(from + i);
}

void FedColumns::leave_gap(std::size_t i) {
  for (core::Column* column : surface_) column->set_missing(i, Reason::gap);
  for (core::Column* column : {speed_, direction_}) column->set_missing(i, Reason::gap);
  for (core::Column* column : of_levels_) column->set_missing(i, Reason::gap);
}

UnitSeries::UnitSeries(const RunColumns& run, std::size_t point, std::size_t member, const core::Site& place)
    : first_(run.first()),
      hours_(run.hours()),
      model_elevation_m_(static_cast<float>(run.model_elevation(point).value())),
      place_latitude_(place.latitude_deg),
      place_longitude_(place.longitude_deg),
      methods_(hours_) {
  if (const auto& sampled = run.plan().sampled_at; point < sampled.size()) {
    sampled_latitude_ = sampled[point].latitude_deg;
    sampled_longitude_ = sampled[point].longitude_deg;
  }
  if (const auto& sea = run.plan().sea; point < sea.size()) sea_ = sea[point];
  if (point < run.plan().stations.size()) station_ = run.plan().stations[point];
  std::vector<float> all(kColumns * hours_);
  auto marks = std::make_shared<Marks>();
  marks->flags.resize(kColumns * hours_);
  marks->why.resize(kColumns * hours_);
  for (std::size_t q = 0; q < kSurfaceQuantities; ++q) {
    const RunColumns::Surface column = run.surface(point, member, q);
    const auto at = static_cast<std::ptrdiff_t>(q * hours_);
    if (column.values.empty()) {
      std::fill_n(all.begin() + at, hours_, std::numeric_limits<float>::quiet_NaN());
      std::fill_n(marks->why.begin() + at, hours_, static_cast<std::uint8_t>(Reason::not_in_feed));
      continue;
    }
    std::copy(column.values.begin(), column.values.end(), all.begin() + at);
    std::copy(column.marks->flags.begin(), column.marks->flags.end(), marks->flags.begin() + at);
    std::transform(column.marks->why.begin(), column.marks->why.end(), marks->why.begin() + at,
                   [](Reason why) { return static_cast<std::uint8_t>(why); });
  }
  for (std::size_t i = 0; i < hours_; ++i) {
    const RunColumns::Air air = run.air(point, member, i);
    std::size_t at = kSurfaceQuantities * hours_ + i;
    const auto put_value = [&](const Value& value) {
      all[at] = value.value;
      marks->flags[at] = value.flags;
      marks->why[at] = static_cast<std::uint8_t>(value.why);
      at += hours_;
    };
    for (const Value& value : {air.mixing_height, air.transport_wind_speed, air.transport_wind_from_direction}) put_value(value);
    for (const Value& value : air.of_levels) put_value(value);
    methods_[i] = static_cast<std::uint8_t>(static_cast<std::uint8_t>(air.method) | (air.methods_disagree ? kDisagrees : 0));
  }
  for (std::size_t column = 0; column < kColumns; ++column) {
    const auto begin = all.begin() + static_cast<std::ptrdiff_t>(column * hours_);
    const auto is_given = [](float value) { return !std::isnan(value); };
    if (std::any_of(begin, begin + static_cast<std::ptrdiff_t>(hours_), is_given)) columns_at_hand_ |= std::uint32_t{1} << column;
  }
  keep(all);
  marks_ = std::move(marks);
}

UnitSeries::UnitSeries(UtcHour first, const core::Site& place)
    : first_(first), place_latitude_(place.latitude_deg), place_longitude_(place.longitude_deg) {}

// Of all columns those at hand.
void UnitSeries::keep(const std::vector<float>& all) {
  std::vector<float> values;
  values.reserve(columns_kept() * hours_);
  for (std::size_t column = 0; column < kColumns; ++column)
    if (has_column(column))
      values.insert(values.end(), all.begin() + static_cast<std::ptrdiff_t>(column * hours_),
                    all.begin() + static_cast<std::ptrdiff_t>((column + 1) * hours_));
  values_ = std::make_shared<const std::vector<float>>(std::move(values));
}

core::Site UnitSeries::sampled_site() const {
  core::Site site;
  site.latitude_deg = sampled_latitude_;
  site.longitude_deg = sampled_longitude_;
  site.elevation = model_elevation();
  return site;
}

RunHour UnitSeries::hour(std::size_t i) const {
  const auto value = [&](std::size_t c) { return column(c)[i]; };
  RunHour hour;
  for (std::size_t q = 0; q < kSurfaceQuantities; ++q) hour.surface[q] = value(q);
  constexpr std::size_t kAir = kSurfaceQuantities;
  const core::MixingNote note = mixing(i);
  hour.air = {.mixing_height = value(kAir),
              .transport_wind_speed = value(kAir + 1),
              .transport_wind_from_direction = value(kAir + 2),
              .of_levels = {},
              .method = note.method,
              .methods_disagree = note.methods_disagree};
  for (std::size_t q = 0; q < kLevelQuantities; ++q) hour.air.of_levels[q] = value(kAir + 3 + q);
  return hour;
}

core::MixingNote UnitSeries::mixing(std::size_t i) const {
  return {static_cast<core::MixingMethod>(methods_[i] & ~kDisagrees), (methods_[i] & kDisagrees) != 0};
}

UnitSeries::Given UnitSeries::column(std::size_t column) const {
  const std::size_t at = column * hours_;
  return {has_column(column) ? values_->data() + place_of(column) * hours_ : nullptr, marks_->flags.data() + at,
          marks_->why.data() + at};
}

bool UnitSeries::has_all(std::size_t i) const {
  for (std::size_t column = 0; column <= kSurfaceQuantities; ++column) {
    // A calm has no direction.
    if (column == kDirection || !has_column(column)) continue;
    if (std::isnan(value_of(column, i))) return false;
  }
  return true;
}

UnitSeries UnitSeries::part(UtcHour begin, UtcHour end) const {
  begin = std::clamp(begin, first_, this->end());
  end = std::clamp(end, begin, this->end());
  UnitSeries part = *this;
  part.first_ = begin;
  part.hours_ = static_cast<std::size_t>(end - begin);
  const auto cut = [&](const auto& from, std::size_t columns) {
    std::decay_t<decltype(from)> to;
    to.reserve(columns * part.hours_);
    for (std::size_t column = 0; column < columns; ++column) {
      const auto at = from.begin() + static_cast<std::ptrdiff_t>(column * hours_) + (begin - first_);
      to.insert(to.end(), at, at + static_cast<std::ptrdiff_t>(part.hours_));
    }
    return to;
  };
  auto marks = std::make_shared<Marks>();
  part.values_ = std::make_shared<const std::vector<float>>(cut(*values_, columns_kept()));
  marks->flags = cut(marks_->flags, kColumns);
  marks->why = cut(marks_->why, kColumns);
  part.marks_ = std::move(marks);
  part.methods_ = cut(methods_, 1);
  return part;
}

UnitSeries UnitSeries::for_place(const core::Site& place) const {
  UnitSeries same = *this;
  same.place_latitude_ = place.latitude_deg;
  same.place_longitude_ = place.longitude_deg;
  return same;
}

UnitSeries UnitSeries::beside(std::span<const UnitSeries> others) const {
  UnitSeries rest = *this;
  std::vector<float> all(kColumns * hours_, std::numeric_limits<float>::quiet_NaN());
  auto marks = std::make_shared<Marks>(*marks_);
  UtcHour begin = end(), last = first_;
  rest.columns_at_hand_ = 0;
  for (std::size_t column = 0; column < kSurfaceQuantities; ++column)
    for (std::size_t i = 0; i < hours_ && has_column(column); ++i) {
      const UtcHour hour = first_ + static_cast<int>(i);
      const float value = value_of(column, i);
      const bool is_given = std::any_of(others.begin(), others.end(), [&](const UnitSeries& other) {
        return other.covers(hour) && !std::isnan(other.value_of(column, static_cast<std::size_t>(hour - other.first_)));
      });
      if (is_given || std::isnan(value)) {
        marks->flags[column * hours_ + i] = 0;
        marks->why[column * hours_ + i] = static_cast<std::uint8_t>(Reason::gap);
        continue;
      }
      all[column * hours_ + i] = value;
      rest.columns_at_hand_ |= std::uint32_t{1} << column;
      begin = std::min(begin, hour);
      last = std::max(last, hour);
    }
  rest.keep(all);
  rest.marks_ = std::move(marks);
  return rest.part(begin, rest.columns_at_hand_ ? last + 1 : begin);
}

void UnitSeries::add_to(std::string& text, UtcHour begin, UtcHour end) const {
  const auto add = [&](const auto& value) { text.append(reinterpret_cast<const char*>(&value), sizeof value); };
  text += station_;
  add(sampled_latitude_);
  add(sampled_longitude_);
  add(model_elevation_m_);
  for (UtcHour hour = std::max(begin, first_); hour < std::min(end, this->end()); hour = hour + 1)
    for (std::size_t column = 0; column < kSurfaceQuantities; ++column)
      if (const float value = value_of(column, static_cast<std::size_t>(hour - first_)); !std::isnan(value)) {
        add(hour.count);
        add(static_cast<std::uint8_t>(column));
        add(value);
      }
}

void UnitSeries::share_marks_of(const UnitSeries& other) {
  if (marks_ != other.marks_ && *marks_ == *other.marks_) marks_ = other.marks_;
}

std::string UnitSeries::pack() const {
  const PackedHead head{kPackedAs,
                        static_cast<std::uint32_t>(hours_),
                        static_cast<std::uint32_t>(kColumns),
                        first_.count,
                        model_elevation_m_,
                        columns_at_hand_ | static_cast<std::uint32_t>(sea_) << kSeaBit,
                        place_latitude_,
                        place_longitude_,
                        sampled_latitude_,
                        sampled_longitude_,
                        station_.size()};
  std::string bytes(reinterpret_cast<const char*>(&head), sizeof head);
  bytes += station_;
  append(bytes, *values_);
  append_runs(bytes, marks_->flags);
  append_runs(bytes, marks_->why);
  append(bytes, methods_);
  return bytes;
}

Result<UnitSeries> UnitSeries::unpack(std::string_view bytes, const std::string& where) {
  const Error damaged{ErrorKind::unreadable, "damaged_series", where, "the stored columns are not what this program keeps",
                      "they are read again from the forecast files, or come with the next run"};
  PackedHead head{};
  if (bytes.size() < sizeof head) return damaged;
  std::memcpy(&head, bytes.data(), sizeof head);
  bytes.remove_prefix(sizeof head);
  static_assert(kColumns <= kSeaBit);
  const std::uint32_t sea = head.columns_at_hand >> kSeaBit;
  head.columns_at_hand &= (std::uint32_t{1} << kSeaBit) - 1;
  const std::size_t count = std::size_t{head.hours} * kColumns,
                    values = std::size_t{head.hours} * static_cast<std::size_t>(std::popcount(head.columns_at_hand));
  if (head.packed_as != kPackedAs || head.columns != kColumns || head.columns_at_hand >> kColumns != 0 ||
      sea > static_cast<std::uint32_t>(ingest::Sea::near) || head.station > bytes.size() ||
      bytes.size() - head.station < values * sizeof(float) + head.hours)
    return damaged;
  UnitSeries series;
  series.first_ = {head.first};
  series.hours_ = head.hours;
  series.model_elevation_m_ = head.model_elevation_m;
  series.columns_at_hand_ = head.columns_at_hand;
  series.sea_ = static_cast<ingest::Sea>(sea);
  series.place_latitude_ = head.place_latitude;
  series.place_longitude_ = head.place_longitude;
  series.sampled_latitude_ = head.sampled_latitude;
  series.sampled_longitude_ = head.sampled_longitude;
  series.station_ = bytes.substr(0, head.station);
  bytes.remove_prefix(head.station);
  auto marks = std::make_shared<Marks>();
  std::vector<float> kept;
  take(bytes, kept, values);
  series.values_ = std::make_shared<const std::vector<float>>(std::move(kept));
  if (!take_runs(bytes, marks->flags, count) || !take_runs(bytes, marks->why, count) || bytes.size() != head.hours)
    return damaged;
  take(bytes, series.methods_, head.hours);
  for (const std::uint8_t why : marks->why)
    if (why > static_cast<std::uint8_t>(Reason::no_limits)) return damaged;
  for (const std::uint8_t method : series.methods_)
    if ((method & ~kDisagrees) > static_cast<std::uint8_t>(core::MixingMethod::mechanical)) return damaged;
  series.marks_ = std::move(marks);
  return series;
}

}  // namespace hakea::service
