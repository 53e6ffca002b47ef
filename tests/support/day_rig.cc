#include "tests/support/day_rig.h"

#include <sstream>

#include "core/catalogue/catalogue.h"

namespace hakea::test {

using namespace core;
using std::chrono::hours;

Range at_least(double v) { return {.lower = Bound{v}, .upper = {}}; }
Range at_most(double v) { return {.lower = {}, .upper = Bound{v}}; }
Range between(double low, double high) { return {.lower = Bound{low}, .upper = Bound{high}}; }
Range below(double v) { return {.lower = {}, .upper = Bound{v, true}}; }

Limit limit(std::string_view key, Range acceptable, Scope scope, Kind kind) {
  Limit l;
  l.quantity = quantity_index(key);
  l.acceptable = acceptable;
  l.scope = scope;
  l.kind = kind;
  return l;
}

Limit sector_limit(double from, double to, Kind kind) {
  Limit l = limit("wind_from_direction", {}, Scope::each_hour, kind);
  l.sectors = {{from, to}};
  return l;
}

DayRig::DayRig(int day_count, TimeZone zone) : first_date_(std::chrono::local_days(std::chrono::year(2027) / 4 / 3)) {
  unit_.zone = std::move(zone);
  unit_.site = {.latitude_deg = -35, .longitude_deg = 150, .elevation = Metres(100), .slope = Degrees(0), .aspect = Degrees(0)};
  const UtcHour first = first_hour_from(unit_.zone.day_begin(first_date_));
  const UtcHour end = first_hour_from(unit_.zone.day_begin(first_date_ + std::chrono::days(day_count)));
  points_ = {{UnitHours(unit_, first, static_cast<std::size_t>(end - first))}};
  prescription_.within = ClockSpan{hours(9), hours(18)};
  prescription_.duration_h = 3;
  prescription_.confirmed = true;
  now_ = first.start();
}

int DayRig::hour_index(int day, int clock_hour) const {
  return first_hour_from(unit_.zone.instant(date(day), hours(clock_hour))) - points_.front().front().first;
}

DayRig& DayRig::all(std::string_view key, double value) {
  UnitHours& h = points_.front().front();
  for (std::size_t i = 0; i < h.hours; ++i) h[key].set(i, value);
  return *this;
}

DayRig& DayRig::at(std::string_view key, int day, int from, const std::string& values) {
  UnitHours& h = points_.front().front();
  std::istringstream words(values);
  auto i = static_cast<std::size_t>(hour_index(day, from));
  for (std::string word; words >> word; ++i) {
    if (word == "-") {
      h[key].set_missing(i, Reason::gap);
    } else {
      h[key].set(i, std::stod(word));
    }
  }
  return *this;
}

DayRig& DayRig::flag(std::string_view key, int day, int from, int count, std::uint8_t flags) {
  for (int i = hour_index(day, from); i < hour_index(day, from) + count; ++i)
    points_.front().front()[key].add_flags(static_cast<std::size_t>(i), flags);
  return *this;
}

UnitHours& DayRig::add_member() {
  points_.front().push_back(points_.front().front());
  return points_.front().back();
}

UnitHours& DayRig::add_point() {
  points_.push_back(points_.front());
  return points_.back().front();
}

std::vector<Day> DayRig::days() const {
  DayInput input{
      .unit = &unit_, .prescription = &prescription_, .plan = &plan_, .now = now_, .reference_time = now_, .points = points_};
  if (heeded_) input.other_feeds.emplace_back(heeded_->points_);
  return evaluate_days(input);
}

History DayRig::history() const {
  return history_of({.unit = &unit_, .prescription = &prescription_, .points = points_, .from = {}, .to = {}});
}

Day DayRig::day(int number) const {
  for (Day& d : days())
    if (d.date == date(number)) return d;
  throw std::runtime_error("no such day");
}

std::string DayRig::says(int number) const {
  const Day d = day(number);
  std::string text(word(d.verdict));
  const auto clock = [&](UtcHour h) {
    const auto local = unit_.zone.local(h.start());
    const auto minutes =
        std::chrono::duration_cast<std::chrono::minutes>(local - std::chrono::floor<std::chrono::days>(local)).count();
    char buffer[32];
    std::snprintf(buffer, sizeof buffer, "%02ld:%02ld", static_cast<long>(minutes / 60), static_cast<long>(minutes % 60));
    return std::string(buffer);
  };
  for (const Window& w : d.windows)
    text += " " + clock(w.start) + "-" + clock(w.end) + (w.unconfirmed ? "?" : "") + (w.open_ended ? "+" : "");
  return text;
}

}  // namespace hakea::test
