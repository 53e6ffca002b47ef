// The deep entry: a unit, its hours and what people decided, to ranked days with reasons.
#pragma once

#include <functional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "core/days/day.h"
#include "core/prescription/hour_fit.h"
#include "core/prescription/prescription.h"

namespace hakea::core {

// What people decided about the unit, apart from its prescription.
struct Stop {
  std::string kind;  // declared_ban event period other
  std::string why;
  UtcTime from{}, to{};  // [from, to): dates already turned into instants in the unit's zone
};

struct LitUnit {
  std::string unit;
  LocalDate lit_on{};
};

struct UnitPlan {
  std::string status = "ready";  // planned ready not_ready treated part_burnt retired
  int priority = 3;
  int notice_days = 0;
  std::set<LocalDate> notice_given_for;
  bool is_open_burn = false;
  std::vector<std::pair<std::string, int>> after;  // unit, days
  std::vector<std::string> adjacent;
  std::vector<LitUnit> lit;  // when the units named in after and adjacent were last lit
  std::vector<Stop> stops;   // those that cover this unit
  std::set<LocalDate> holidays;
};

struct DayInput {
  const UnitTraits* unit = nullptr;
  const Prescription* prescription = nullptr;
  const UnitPlan* plan = nullptr;
  UtcTime now{};
  UtcTime reference_time{};  // of the run that gives the days, for the lead; `now` for a weather file
  // One per member; for a unit with several points, `points[point][member]`. All of one shape, all rows computed.
  std::span<const std::vector<UnitHours>> points;
  // Of how many members each hour is, where they are not all different: hours of a feed of n members that stand in a series
  // of more repeat every n. Empty: all are different.
  std::vector<int> members_by_hour{};
  // Where the hours of each member end, for members that end before the first one. Empty: none does.
  std::vector<UtcHour> member_ends{};
  // What other feeds say, shaped like `points` and beginning at the same hour: a tail limit that is out in one of them is
  // out, and so is an hour in which it fails a stop, whatever the main series says.
  std::vector<std::span<const std::vector<UnitHours>>> other_feeds{};
};

// The days of one feed, best first.
std::vector<Day> evaluate_days(const DayInput& input);

// Hour by hour whether all each-hour limits of kind stop and hard are in, for the first member.
std::vector<Fit> fit_by_hour(const DayInput& input);

// Hour by hour each limit held against the hour alone, whatever its scope, in the order of the prescription; for the first
// member. What a limit of a window or a tail asks is more than that.
std::vector<std::vector<Fit>> fit_of_limits_by_hour(const DayInput& input);

// Puts days in the order of INTERFACE §3 "Rank" and numbers them.
void rank_days(std::vector<Day>& all);

}  // namespace hakea::core
