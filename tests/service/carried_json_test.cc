// The carried state as text: nothing of it is lost, and what an earlier version wrote is still read.
#include "service/engine/carried_json.h"

#include <gtest/gtest.h>

#include "core/catalogue/carry.h"
#include "core/catalogue/catalogue.h"
#include "tests/core/unit_hours_builder.h"
#include "tests/support/must.h"

namespace hakea::test {
namespace {

using namespace hakea::core;
using namespace hakea::service;

const LocalDate kDay = date(2027, 3, 30);

WetnessState a_state(std::size_t days_of_record) {
  const UnitTraits unit = forest_unit();
  UnitHours hours = fair_hours(unit, nine_on(unit, kDay), 24 * days_of_record);
  hours.initial_state.emplace();
  hours.initial_state->as_of = kDay;
  hours.initial_state->kbdi = Millimetres(83);
  hours.initial_state->drought_factor = One(7.5);
  hours.initial_state->ffmc = One(85);
  hours.initial_state->dmc = One(6);
  hours.initial_state->last_rain = RainEvent{unit.zone.rain_day_end(kDay) - std::chrono::hours(50), Millimetres(6)};
  hours["wind_speed"].set_missing(24 + 3, Reason::gap);
  compute_all(hours);
  return *carried_state(hours);
}

TEST(CarriedJson, KeepsEveryBit) {
  const WetnessState state = a_state(4);
  const WetnessState back = must(parse_carried(carried_json(state), "here"));
  EXPECT_EQ(carried_json(back), carried_json(state));
  EXPECT_EQ(back.as_of, kDay + std::chrono::days(4));
  EXPECT_EQ(back.ffmc.value(), state.ffmc.value());
  EXPECT_EQ(back.dmc.value(), state.dmc.value());
  EXPECT_TRUE(back.dc.is_missing());
  EXPECT_EQ(back.codes.noons_ago, 1);
  EXPECT_EQ(back.codes.gap_days, state.codes.gap_days);
  EXPECT_EQ(back.codes.run_up, state.codes.run_up);
  EXPECT_EQ(back.codes.run_up_days, state.codes.run_up_days);
  EXPECT_EQ(back.codes.wind_at_noon_kmh, state.codes.wind_at_noon_kmh);
  EXPECT_EQ(back.codes.rain_since_noon_mm, state.codes.rain_since_noon_mm);
  EXPECT_EQ(back.hourly_ffmc.value, state.hourly_ffmc.value);
  EXPECT_EQ(back.hourly_ffmc.run_up_h, state.hourly_ffmc.run_up_h);
  EXPECT_EQ(back.dead_fuel_1h.value, state.dead_fuel_1h.value);
  EXPECT_EQ(back.dead_fuel_10h.value, state.dead_fuel_10h.value);
  EXPECT_EQ(back.dead_fuel_100h.run_up_h, state.dead_fuel_100h.run_up_h);
  EXPECT_EQ(back.dead_fuel_100h_daily.value, state.dead_fuel_100h_daily.value);
  EXPECT_EQ(back.litter_moisture.value(), state.litter_moisture.value());
  EXPECT_EQ(back.recent_rain_mm, state.recent_rain_mm);
  EXPECT_GT(back.codes.run_up_days, 0);
  EXPECT_GT(back.dead_fuel_100h.value, 0);
}

TEST(CarriedJson, ReadsAStateThatKnewNoCodes) {
  const std::string earlier =
      R"({"as_of":20907,"kbdi":83.5,"drought_factor":null,"litter_moisture":12.25,"litter_moisture_sheltered":13,)"
      R"("ffmc":null,"dmc":null,"dc":null,"interception_store":5,"kbdi_gap_days":0,"kbdi_run_up_mm":null,)"
      R"("kbdi_run_up_days":0,"litter_run_up_h":0,"litter_sheltered_run_up_h":0,"canopy_store_mm":1,"canopy_dry_h":9,)"
      R"("daily_rain_mm":[0,null,3.5],"rain_before_is_assumed":false})";
  const WetnessState state = must(parse_carried(earlier, "here"));
  EXPECT_EQ(state.kbdi.value(), 83.5);
  EXPECT_TRUE(state.ffmc.is_missing());
  EXPECT_TRUE(std::isnan(state.hourly_ffmc.value));
  EXPECT_EQ(state.codes.run_up_days, 0);
}

TEST(CarriedJson, RefusesWhatIsDamaged) {
  for (const char* text : {"", "{", "[]", R"({"as_of":20907})",
                           R"({"as_of":20907,"kbdi":"high","daily_rain_mm":[],)"
                           R"("rain_before_is_assumed":false})"}) {
    const auto state = parse_carried(text, "here");
    ASSERT_FALSE(state) << text;
    EXPECT_EQ(state.error().code, "damaged_state");
  }
}

}  // namespace
}  // namespace hakea::test
