// A small language for tests of days: a unit in a zone, its hours as text, a prescription in a few words.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/days/evaluate.h"
#include "core/days/history.h"

namespace hakea::test {

core::Limit limit(std::string_view key, core::Range acceptable, core::Scope scope = core::Scope::each_hour,
                  core::Kind kind = core::Kind::hard);
core::Limit sector_limit(double from, double to, core::Kind kind = core::Kind::hard);
core::Range at_least(double v);
core::Range at_most(double v);
core::Range between(double low, double high);
core::Range below(double v);

// One unit on flat ground at 35 S 150 E, ten hours east of Greenwich unless told otherwise.
class DayRig {
 public:
  DayRig(const DayRig&) = delete;
  explicit DayRig(int days, TimeZone zone = TimeZone::fixed("test", std::chrono::hours(10)));

  // Every hour of the record.
  DayRig& all(std::string_view key, double value);
  // From local clock hour `from` of date number `day` (0 = first) on, one value an hour; "-" is missing.
  DayRig& at(std::string_view key, int day, int from, const std::string& values);
  DayRig& flag(std::string_view key, int day, int from, int hours, std::uint8_t flags);
  core::UnitTraits& unit() { return unit_; }
  core::Prescription& prescription() { return prescription_; }
  core::UnitPlan& plan() { return plan_; }
  core::UnitHours& record() { return points_.front().front(); }
  // Another member (or point) that starts as a copy of the hours so far.
  core::UnitHours& add_member();
  core::UnitHours& add_point();
  int hour_index(int day, int clock_hour) const;
  void now(UtcTime t) { now_ = t; }
  // Another feed whose tails are heeded; it must outlive the days.
  void heed(const DayRig& other) { heeded_ = &other; }
  UtcHour first() const { return points_.front().front().first; }
  UtcHour end() const { return points_.front().front().end(); }

  std::vector<core::Day> days() const;
  core::History history() const;
  core::Day day(int number) const;
  // "met 10:00-15:00" or "out", "near_miss", ...; windows in order, unconfirmed ones with "?", open-ended ones with "+".
  std::string says(int number) const;
  LocalDate date(int number) const { return first_date_ + std::chrono::days(number); }

 private:
  LocalDate first_date_;
  core::UnitTraits unit_;
  core::Prescription prescription_;
  core::UnitPlan plan_;
  std::vector<std::vector<core::UnitHours>> points_;
  UtcTime now_;
  const DayRig* heeded_ = nullptr;
};

}  // namespace hakea::test
