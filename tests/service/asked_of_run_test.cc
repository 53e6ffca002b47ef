#include "service/engine/asked_of_run.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "core/catalogue/catalogue.h"

namespace hakea::service {
namespace {

using core::Fed;
using core::Scope;
using std::chrono::hours;

// From nine to six where the clock is ten hours ahead, eleven in summer.
Unit unit_that_limits(const char* key, Scope scope = Scope::each_hour) {
  Unit unit;
  unit.traits.zone = TimeZone("Somewhere", {{UtcTime::min(), hours(10), hours(10)}, {UtcTime{}, hours(11), hours(10)}});
  unit.prescription.within = core::ClockSpan{.from = hours(9), .to = hours(18)};
  core::Limit& limit = unit.prescription.limits.emplace_back();
  limit.quantity = core::quantity_index(key);
  limit.scope = scope;
  return unit;
}

std::uint32_t hours_asked(const Unit& unit) { return asked_of_run(std::vector<Unit>{unit}, true).left_out.hours_with_levels; }
bool leaves_out(const Unit& unit, Fed fed) {
  const auto& out = asked_of_run(std::vector<Unit>{unit}, true).left_out.always;
  return std::find(out.begin(), out.end(), fed) != out.end();
}
constexpr std::uint32_t kWholeDay = ingest::LeftOut::kWholeDay;

TEST(AskedOfRun, LevelsAreAskedForInTheLightUpHoursOfBothClocks) {
  // 22 to 7 o'clock UTC by the summer's clock, 23 to 8 by the other.
  const std::uint32_t light_up = kWholeDay & ~((1U << 22) - (1U << 8));
  EXPECT_EQ(hours_asked(unit_that_limits("mixing_height")), light_up);
  EXPECT_EQ(hours_asked(unit_that_limits("ventilation_index", Scope::window_mean)), light_up);
  Unit later = unit_that_limits("mixing_height");
  later.prescription.limits.front().hours_after = 2;
  EXPECT_EQ(hours_asked(later), light_up | 1U << 8 | 1U << 9);
}

TEST(AskedOfRun, LimitsThatLookElsewhereAskForTheWholeDay) {
  for (const Scope scope : {Scope::before, Scope::same_day, Scope::night_after, Scope::days_after})
    EXPECT_EQ(hours_asked(unit_that_limits("mixing_height", scope)), kWholeDay);
  EXPECT_EQ(hours_asked(unit_that_limits("hours_since_inversion")), kWholeDay);  // it looks back
  Unit any_time = unit_that_limits("mixing_height");
  any_time.prescription.within.reset();
  EXPECT_EQ(hours_asked(any_time), kWholeDay);
}

TEST(AskedOfRun, WhatNoLimitRestsOnIsLeftOut) {
  const Unit danger = unit_that_limits("ffdi"), mixing = unit_that_limits("mixing_height");
  EXPECT_TRUE(leaves_out(danger, Fed::level_temperature) && leaves_out(danger, Fed::wind_gust));
  EXPECT_FALSE(leaves_out(danger, Fed::precipitation_amount) || leaves_out(danger, Fed::dew_point_temperature));
  EXPECT_EQ(hours_asked(danger), 0U);
  EXPECT_FALSE(leaves_out(mixing, Fed::level_temperature) || leaves_out(mixing, Fed::cloud_area_fraction));
  EXPECT_TRUE(leaves_out(mixing, Fed::shortwave_radiation));
  EXPECT_FALSE(leaves_out(unit_that_limits("wind_gust"), Fed::wind_gust));
  EXPECT_EQ(asked_of_run(std::vector<Unit>{mixing}, true).depth, core::AirDepth::mixing);
  EXPECT_EQ(asked_of_run(std::vector<Unit>{unit_that_limits("c_haines")}, true).depth, core::AirDepth::all);
}

TEST(AskedOfRun, ARunBesideOthersIsReadWhole) {
  const AskedOfRun asked = asked_of_run(std::vector<Unit>{unit_that_limits("ffdi")}, false);
  EXPECT_TRUE(asked.left_out.always.empty() && asked.left_out.without_levels.empty());
  EXPECT_EQ(asked.left_out.hours_with_levels, kWholeDay);
}

}  // namespace
}  // namespace hakea::service
