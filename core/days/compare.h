// Which of two days, or of two units on a date, comes first, and why, in one sentence from the numbers that rank them
// (INTERFACE §3 "Rank").
#pragma once

#include <string>
#include <string_view>

#include "core/catalogue/unit_hours.h"
#include "core/days/day.h"
#include "core/prescription/prescription.h"

namespace hakea::core {

// Days of one unit: verdict, fit, margin, earlier date.
bool ranks_before(const Day& a, const Day& b);

// What is said of a unit on a date.
struct UnitOnDay {
  std::string_view id, name;
  int priority = 3;
  double rarity = 0;
  const Day* day = nullptr;
  const Prescription* prescription = nullptr;
  const UnitTraits* traits = nullptr;
};
// Units on one date: verdict, priority, rarity, fit, id.
bool ranks_before(const UnitOnDay& a, const UnitOnDay& b);

// "Friday 2 April before Saturday 3 April: met against out; on Saturday calculated FFDI in the days after is 45 on Monday,
// needs less than 24". The two in whichever order they are given; of one and the same, that it is.
std::string compared(const Day& a, const Day& b, const Prescription& prescription, const UnitTraits& unit);
std::string compared(const UnitOnDay& a, const UnitOnDay& b);

}  // namespace hakea::core
