// The parts of the unit day sheet, each a function from what all of them look at.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/prescription/limit_hours.h"
#include "core/prescription/unit_clock.h"
#include "service/tell/day_sheet.h"

namespace hakea::service {

// A unit's day with the hours it rests on, by index into them.
struct SheetDay {
  const Snapshot& snapshot;
  const UnitView& view;
  const core::Day& day;
  std::vector<std::vector<core::UnitHours>> points;  // [point][member], computed; the first of both is shown
  core::UnitClock clock;
  core::DateHours date;
  const core::Window* window;  // the best one, or the stretch that is too short; null without either
  int begin, end;              // hours of the window, else the light-up hours

  SheetDay(const Snapshot& snapshot, const UnitView& view, const core::Day& day);

  const core::UnitHours& hours() const { return points.front().front(); }
  int size() const { return static_cast<int>(hours().hours); }
  // A value of the unit's first point; NaN where it is missing or outside the record.
  double at(std::string_view key, int hour) const;
  const TimeZone& zone() const { return view.unit.traits.zone; }
  // "14:00", with the offset on a date whose clock changes ("02:00+11").
  std::string clock_name(UtcTime t) const;
  // The same with the weekday: "Sat 3 Apr 14:00".
  std::string time_name(UtcTime t) const;
  // A limit held against all hours, by all points.
  core::LimitHours held(const core::Limit& limit) const;
};

void add_hours(const SheetDay& day, DaySheet& sheet);
void add_limits(const SheetDay& day, DaySheet& sheet);
void add_wind_change(const SheetDay& day, DaySheet& sheet);
void add_night_and_tail(const SheetDay& day, DaySheet& sheet);
void add_map(const SheetDay& day, DaySheet& sheet);

// The span of a direction over hours that follow each other: where it begins, clockwise, and how far it reaches; none where
// nothing is known.
struct Arc {
  double from_deg = 0, span_deg = 0;
};
std::optional<Arc> arc_of(const std::vector<double>& directions_deg);
std::string compass(double direction_deg);  // of eight points: "NE"
// Lowest and highest, "13.2 to 15.3 %"; of a direction its arc; nothing where no value is known.
std::optional<std::string> range_text(const std::vector<double>& values, const core::QuantityRow& quantity);

}  // namespace hakea::service
