// The hours of one point and member, as runs tell them.
#pragma once

#include "service/engine/run_weather.h"
#include "tests/support/must.h"

namespace hakea::test {

// `traits` must outlive them.
inline core::UnitHours unit_hours(const service::RunWeather& weather, std::size_t point, std::size_t member,
                                  const core::UnitTraits& traits) {
  service::Unit unit;
  unit.points = {traits};
  const service::UnitWeatherRecord record(must(weather.block(0)).at(unit, point), {});
  core::UnitHours hours = record.point_hours(unit, 0, member, std::nullopt);
  hours.unit = &traits;
  return hours;
}

}  // namespace hakea::test
