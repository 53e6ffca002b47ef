// Questions of a plan for tests and benchmarks: written by hand, or made by chance from a seed.
#pragma once

#include <cstdint>
#include <deque>
#include <random>
#include <string>
#include <vector>

#include "core/plan/plan.h"

namespace hakea::test {

// The first date of the questions, and the time of asking: 06:30 on it, in a zone ten hours ahead.
LocalDate plan_date(int number);
UtcTime plan_time(int number, int clock_hour, int minute = 0);

// A question that owns what it points to.
class PlanRig {
 public:
  PlanRig(int dates = 3);
  PlanRig(const PlanRig&) = delete;

  core::PlanQuestion question;

  // One crew of the first depot, priority 3, no airshed; met on no date.
  core::PlannedUnit& unit(const std::string& id);
  core::UnitPlan& plan_of(const std::string& id);
  // A window from 10:00 on, to be lit by `latest` o'clock.
  core::Day& met(const std::string& id, int date, double fit = 1, int latest = 14);
  void depot(const std::string& id, int crews, int tankers = 9, int plant = 9);
  void quiet(bool is_quiet = true);  // on every date, and on those after
  void commit(const std::string& id, int date, bool is_open = false);

  core::PlannedUnit& find(const std::string& id);
  // The same with its lists in another order.
  void shuffle(std::uint32_t seed);

 private:
  TimeZone zone_;
  std::deque<core::UnitPlan> plans_;
  std::deque<core::Day> days_;
};

// What chance makes of a question; every kind of constraint comes up.
struct PlanSize {
  int units = 5, dates = 3, depots = 2;
  double scarcity = 1;  // units for each crew there is
};
void fill_by_chance(PlanRig& rig, const PlanSize& size, std::uint32_t seed);

}  // namespace hakea::test
