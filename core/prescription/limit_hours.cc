#include "core/prescription/limit_hours.h"

#include <algorithm>
#include <cmath>

#include "core/base/numbers.h"
#include "core/base/result.h"
#include "core/wetness/rain_history.h"

namespace hakea::core {
namespace {

// A mean wind shorter than this share of the mean speed has no direction (INTERFACE §3).
constexpr double kSteadyShare = 0.3;

// A direction needs a wind to mean something; smoke goes with the transport wind.
bool has_wind_speed(std::string_view key) { return key.ends_with("wind_from_direction") || key == "smoke_bearing"; }
std::string_view speed_key(std::string_view direction_key) {
  return direction_key == "wind_from_direction" ? "wind_speed" : "transport_wind_speed";
}

// Of hours that come one after the other.
class RunningMean {
 public:
  void take(double value, bool is_out_of_domain) {
    total_ += value;
    ++hours_;
    is_doubtful_ |= is_out_of_domain;
  }
  double value() const { return static_cast<double>(static_cast<float>(total_ / hours_)); }
  Possible possible() const {
    Possible p;
    if (!std::isnan(value())) p.lowest = p.highest = value();
    p.is_out_of_domain = is_doubtful_;
    return p;
  }

 private:
  double total_ = 0;
  int hours_ = 0;
  bool is_doubtful_ = false;
};

constexpr std::uint8_t kOfValue = flag::kAtLeast | flag::kOutOfDomain;  // say what a value can be

struct PointHour {
  Fit fit;
  float value;
  std::uint8_t marks;
  Reason why;
  float speed;
  double margin = kNaN;  // where several points are held against each other
};

// Worst first: out by the widest, then unknown, then in by the narrowest.
bool is_worse(const PointHour& a, const PointHour& b) {
  if (a.fit != b.fit) return a.fit < b.fit;
  if (std::isnan(a.margin) || std::isnan(b.margin)) return std::isnan(a.margin) && !std::isnan(b.margin);
  return a.margin < b.margin;
}

}  // namespace

Rows rows_of_limits(const Prescription& prescription) {
  Rows rows;
  for (const Limit& limit : prescription.limits) {
    rows.set(limit.quantity);
    if (const std::string_view key = catalogue()[limit.quantity].key; has_wind_speed(key))
      rows.set(quantity_index(speed_key(key)));
  }
  return rows;
}

LimitHours::LimitHours(const Limit& limit, const Prescription& prescription, std::span<const UnitHours* const> points)
    : limit_(&limit), quantity_(&catalogue()[limit.quantity]) {
  HAKEA_EXPECT(!points.empty());
  const std::size_t hours = points.front()->hours;
  hours_.resize(hours);
  const bool has_speed = has_wind_speed(quantity_->key);
  if (has_speed) speed_.resize(hours);
  const std::size_t speed_index = has_speed ? quantity_index(speed_key(quantity_->key)) : 0;

  // The catalogue counts days since rain of 2 mm; a limit may call another amount rain.
  std::vector<Column> own_count;
  if (quantity_->key == "days_since_rain" && limit.rain_mm != kRainDay)
    for (const UnitHours* point : points)
      own_count.push_back(days_since_rain(
          {&(*point)["precipitation_amount"], point->first, &point->unit->zone, &point->initial_state}, limit.rain_mm));

  const auto column_of = [&](std::size_t p) { return own_count.empty() ? &points[p]->columns[limit.quantity] : &own_count[p]; };
  const auto speeds_of = [&](std::size_t p) { return has_speed ? &points[p]->columns[speed_index] : nullptr; };
  const bool is_direction = quantity_->is_direction, has_sectors = !limit.sectors.empty();
  const RangeTest is_acceptable(limit.acceptable);
  const auto at_point = [&](const Column& column, const Column* speeds, std::size_t i) {
    float v = column[i];
    if (is_direction && v >= 360.0f) v -= 360.0f;
    const float speed = speeds ? (*speeds)[i] : std::numeric_limits<float>::quiet_NaN();
    PointHour h{.fit = {}, .value = v, .marks = 0, .why = column.why(i), .speed = speed};
    const int of_value = std::isnan(v) ? 0 : column.flags(i) & kOfValue;
    const int of_speed = speeds ? speeds->flags(i) & flag::kOutOfDomain : 0;
    h.marks = static_cast<std::uint8_t>(of_value | of_speed);
    const bool is_out_of_domain = h.marks & flag::kOutOfDomain;
    if (has_sectors) {
      h.fit = sector_fit(limit.sectors, v, speed, prescription.wind_for_direction_kmh, is_out_of_domain);
      if (h.fit == Fit::unknown && h.why == Reason::none && speeds) h.why = speeds->why(i);
    } else {
      h.fit = is_acceptable(possible_of(v, h.marks));
    }
    if (h.fit == Fit::unknown && h.why == Reason::none) h.why = is_out_of_domain ? Reason::out_of_domain : Reason::no_state;
    return h;
  };
  const auto take = [&](std::size_t i, const PointHour& h) {
    hours_[i] = {h.value, h.fit, h.marks, h.why};
    if (has_speed) speed_[i] = h.speed;
    has_out_of_domain_ = has_out_of_domain_ || (h.marks & flag::kOutOfDomain);
  };

  // With n points of which a share must pass, the one that decides is the ceil(share n)-th best.
  const std::size_t n = points.size();
  const auto needed = static_cast<std::size_t>(
      std::clamp(std::ceil(prescription.points_share * static_cast<double>(n) - 1e-9), 1.0, static_cast<double>(n)));
  const Column *const only = column_of(0), *const its_speeds = speeds_of(0);
  // Nearly all hours are those of one point, and hold a number that is known as it is against a range.
  const bool is_plain = !is_direction && !has_sectors && !only->values().empty();
  const auto values = only->values();
  const auto marks = only->marks();
  Hour* const into = hours_.data();
  for (std::size_t i = 0; n == 1 && i < hours; ++i) {
    if (!is_plain || std::isnan(values[i]) || marks[i].flags & kOfValue)
      take(i, at_point(*only, its_speeds, i));
    else
      into[i] = {values[i], is_acceptable.of_number(values[i]), 0, Reason::none};
  }
  std::vector<PointHour> at_points(n);
  for (std::size_t i = 0; n > 1 && i < hours; ++i) {
    for (std::size_t p = 0; p < n; ++p) {
      at_points[p] = at_point(*column_of(p), speeds_of(p), i);
      const PointHour& h = at_points[p];
      at_points[p].margin = margin_of({h.value, h.fit, h.marks, h.why}).own;
    }
    const auto deciding = at_points.begin() + static_cast<std::ptrdiff_t>(n - needed);
    std::nth_element(at_points.begin(), deciding, at_points.end(), is_worse);
    take(i, *deciding);
  }
  let_daily_values_stand(points.front()->end(), points.front()->unit->zone);
  count();
}

void LimitHours::take_worse(const LimitHours& other) {
  for (std::size_t i = 0; i < std::min(hours_.size(), other.hours_.size()); ++i) {
    if (hours_[i].fit == Fit::out || other.hours_[i].fit != Fit::out) continue;
    hours_[i] = other.hours_[i];
    if (i < speed_.size() && i < other.speed_.size()) speed_[i] = other.speed_[i];
    has_out_of_domain_ = has_out_of_domain_ || (hours_[i].marks & flag::kOutOfDomain);
  }
  count();
}

void LimitHours::count() {
  before_.assign(hours_.size() + 1, {});
  for (std::size_t i = 0; i < hours_.size(); ++i)
    before_[i + 1] = {before_[i].out + (hours_[i].fit == Fit::out), before_[i].unknown + (hours_[i].fit == Fit::unknown)};
}

// A daily value stands until the next hour that determines it, beyond the end of the record too.
void LimitHours::let_daily_values_stand(UtcHour end, const TimeZone& zone) {
  const bool is_nine = quantity_->nature == Nature::daily;
  if (hours_.empty() || (!is_nine && quantity_->nature != Nature::daily_noon)) return;
  const std::chrono::hours clock(is_nine ? 9 : 12);
  LocalDate date = zone.date(end.start());
  while (zone.standard_instant(date, clock) < end.start()) date += std::chrono::days(1);
  const auto hours = static_cast<std::size_t>(std::max(0, first_hour_from(zone.standard_instant(date, clock)) - end));
  hours_.resize(hours_.size() + hours, Hour(hours_.back()));
}

Margin LimitHours::margin_of(const Hour& hour) const {
  const auto value = static_cast<double>(hour.value);
  if (limit_->sectors.empty()) return range_margin(limit_->acceptable, *quantity_, value);
  const Margin margin = sector_margin(limit_->sectors, *quantity_, value);
  // Too light to hold a direction: no distance says how far.
  return hour.fit == Fit::out && margin.own >= 0 ? Margin{} : margin;
}

Reason LimitHours::why(int hour) const {
  if (hour < 0) return Reason::gap;
  return hour < size() ? hours_[index(hour)].why : Reason::beyond_horizon;
}

int LimitHours::out_hours(int begin, int end) const {
  const int from = std::clamp(begin, 0, size()), to = std::clamp(end, from, size());
  return before_[index(to)].out - before_[index(from)].out;
}

int LimitHours::unknown_hours(int begin, int end) const {
  const int from = std::clamp(begin, 0, size()), to = std::clamp(end, from, size());
  return before_[index(to)].unknown - before_[index(from)].unknown + std::max(0, end - begin - (to - from));
}

Fit LimitHours::every_hour_fit(int begin, int end, int forget_before) const {
  const int forgotten = forget_before > begin ? unknown_hours(begin, std::min(end, forget_before)) : 0;
  const int unknown = unknown_hours(begin, end) - forgotten;
  const int out = out_hours(begin, end);
  if (out > limit_->allow_hours) return Fit::out;
  return out + unknown > limit_->allow_hours || end - begin <= forgotten ? Fit::unknown : Fit::in;
}

std::optional<int> LimitHours::worst_but(int allowed, int begin, int end) const {
  using Ranked = std::pair<double, int>;  // margin, hour
  std::optional<Ranked> worst;
  std::vector<Ranked> worse;  // those that are allowed, worst first
  for (int h = std::max(begin, 0); h < std::min(end, size()); ++h) {
    Ranked here(margin(h).own, h);
    if (std::isnan(here.first) || (worst && *worst < here)) continue;
    if (allowed > 0) {
      worse.insert(std::upper_bound(worse.begin(), worse.end(), here), here);
      if (worse.size() <= static_cast<std::size_t>(allowed)) continue;
      here = worse.back();
      worse.pop_back();
    }
    worst = here;
  }
  return worst ? std::optional(worst->second) : std::nullopt;
}

StretchValue LimitHours::every_hour(int begin, int end, int forget_before) const {
  StretchValue result;
  result.fit = every_hour_fit(begin, end, forget_before);
  result.at = begin;
  if (const auto decides = worst_but(std::max(limit_->allow_hours, 0), begin, end)) {
    result.at = *decides;
    result.value = value(result.at);
    result.margin = margin(result.at);
  }
  if (result.fit == Fit::unknown) {
    result.why = Reason::beyond_horizon;
    for (int h = std::max(begin, forget_before); h < end; ++h)
      if (fit(h) == Fit::unknown) {
        result.why = why(h);
        break;
      }
  }
  return result;
}

StretchValue LimitHours::of_possible(Possible p, double shown, int at) const {
  return {.fit = range_fit(limit_->acceptable, p),
          .value = shown,
          .at = at,
          .margin = range_margin(limit_->acceptable, *quantity_, shown),
          .why = Reason::none,
          .is_out_of_domain = p.is_out_of_domain};
}

// Of an unknown stretch: the reason of its first missing hour; without one, what else keeps it from passing.
void LimitHours::say_why(StretchValue& result, int begin, int end, int forget_before) const {
  if (result.fit != Fit::unknown) return;
  for (int h = std::max(begin, forget_before); h < end && result.why == Reason::none; ++h)
    if (std::isnan(value(h))) result.why = why(h);
  if (result.why == Reason::none) result.why = result.is_out_of_domain ? Reason::out_of_domain : Reason::no_state;
}

StretchValue LimitHours::sum(int begin, int end, int forget_before) const {
  double total = 0;
  Possible p = Possible::exactly(0);
  for (int h = begin; h < end; ++h) {
    const double v = value(h);
    if (!std::isnan(v)) {
      total += v;
    } else if (h >= forget_before) {
      p.highest = std::numeric_limits<double>::infinity();
    }
    p.is_out_of_domain |= possible_at(h).is_out_of_domain;
  }
  total = static_cast<double>(static_cast<float>(total));
  p.lowest = total;
  if (std::isfinite(p.highest)) p.highest = total;
  StretchValue result = of_possible(p, total, begin);
  say_why(result, begin, end, forget_before);
  return result;
}

StretchValue LimitHours::mean(int begin, int end) const {
  if (quantity_->is_direction) return mean_direction(begin, end);
  RunningMean mean;
  for (int h = begin; h < end; ++h) mean.take(value(h), possible_at(h).is_out_of_domain);
  StretchValue result = of_possible(mean.possible(), mean.value(), begin);
  say_why(result, begin, end);
  return result;
}

void LimitHours::fits_of_means(int begin, int end, std::vector<Fit>& fits) const {
  fits.clear();
  const RangeTest is_acceptable(limit_->acceptable);
  RunningMean mean;
  for (int h = begin; h < end; ++h) {
    mean.take(value(h), possible_at(h).is_out_of_domain);
    fits.push_back(is_acceptable(mean.possible()));
  }
}

// The mean of unit vectors weighted by speed; variable, and out, when it is shorter than a share of the mean speed.
StretchValue LimitHours::mean_direction(int begin, int end) const {
  double east = 0, north = 0, speed = 0;
  bool is_doubtful = false;
  for (int h = begin; h < end; ++h) {
    is_doubtful |= is_out_of_domain(h);
    const double weight = is_inside(h) && !speed_.empty() ? static_cast<double>(speed_[index(h)]) : speed_.empty() ? 1.0 : kNaN;
    east += weight * std::sin(value(h) * kDegree);
    north += weight * std::cos(value(h) * kDegree);
    speed += weight;
  }
  const double length = std::hypot(east, north);
  if (std::isnan(length)) {
    StretchValue result = of_possible({}, kNaN, begin);
    for (int h = begin; h < end && result.why == Reason::none; ++h) result.why = why(h);
    return result;
  }
  if (length < kSteadyShare * speed || speed <= 0)
    return {.fit = Fit::out, .value = kNaN, .at = begin, .margin = {}, .why = Reason::none, .is_out_of_domain = is_doubtful};
  double direction = std::atan2(east, north) / kDegree;
  if (direction < 0) direction += 360.0;
  direction = static_cast<double>(static_cast<float>(direction));
  Possible p = Possible::exactly(direction >= 360.0 ? 0.0 : direction);
  p.is_out_of_domain = is_doubtful;
  StretchValue result = of_possible(p, direction, begin);
  say_why(result, begin, end);
  return result;
}

StretchValue LimitHours::smallest(int begin, int end) const {
  Possible p = Possible::exactly(std::numeric_limits<double>::infinity());
  int at = begin;
  for (int h = begin; h < end; ++h) {
    const Possible here = possible_at(h);
    p.is_out_of_domain |= here.is_out_of_domain;
    p.lowest = std::min(p.lowest, here.lowest);
    if (here.highest < p.highest) p.highest = here.highest, at = h;
  }
  StretchValue result = of_possible(p, std::isfinite(p.highest) ? p.highest : kNaN, at);
  say_why(result, begin, end);
  return result;
}

StretchValue LimitHours::largest(int begin, int end) const {
  Possible p = Possible::exactly(-std::numeric_limits<double>::infinity());
  int at = begin;
  for (int h = begin; h < end; ++h) {
    const Possible here = possible_at(h);
    p.is_out_of_domain |= here.is_out_of_domain;
    p.highest = std::max(p.highest, here.highest);
    if (here.lowest > p.lowest) p.lowest = here.lowest, at = h;
  }
  StretchValue result = of_possible(p, std::isfinite(p.lowest) ? p.lowest : kNaN, at);
  say_why(result, begin, end);
  return result;
}

}  // namespace hakea::core
