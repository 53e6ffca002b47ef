// A unit and its hours for tests: a dry eucalypt forest at 37 S 149 E in a fixed zone ten hours ahead, in fair weather.
#pragma once

#include <cmath>
#include <memory>

#include "core/catalogue/catalogue.h"

namespace hakea::test {

inline core::UnitTraits forest_unit() {
  core::UnitTraits unit;
  unit.site = {.latitude_deg = -37, .longitude_deg = 149, .elevation = Metres(200), .slope = Degrees(10), .aspect = Degrees(0)};
  unit.fuel.type = "dry-eucalypt-forest";
  unit.fuel.is_forest = true;
  unit.fuel.moisture_model = core::MoistureModel::eucalypt_litter;
  unit.fuel.spread_model = core::SpreadModel::control_burning;
  unit.fuel.load = TonnesPerHectare(12);
  unit.fuel.litter_time_lag = Hours(2);
  unit.fuel.canopy_interception = 0.15;
  unit.fuel.canopy_store = Millimetres(1);
  unit.fuel.litter_light_share = 0.35;
  unit.annual_rain = Millimetres(900);
  unit.zone = TimeZone::fixed("ten", std::chrono::hours(10));
  return unit;
}

// Fuel in the open of which nothing but its type is known.
inline core::UnitTraits open_unit(const char* type, core::MoistureModel model) {
  core::UnitTraits unit = forest_unit();
  unit.fuel = {};
  unit.fuel.type = type;
  unit.fuel.moisture_model = model;
  return unit;
}

inline LocalDate date(int y, int m, int d) {
  return std::chrono::local_days(std::chrono::year(y) / static_cast<int>(m) / static_cast<int>(d));
}

// 09:00 local standard time on a date, as an hour.
inline UtcHour nine_on(const core::UnitTraits& unit, LocalDate day) { return UtcHour::of(unit.zone.rain_day_end(day)); }

// Weather that repeats daily, with a little rain every ninth day so that states move.
inline void fill_weather(core::UnitHours& hours) {
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const int count = (hours.first + static_cast<int>(i)).count;
    const double phase = 2 * 3.14159265358979 * (count % 24) / 24.0;
    const double warmth = std::sin(phase + 1.1);
    hours["air_temperature"].set(i, 16 + 7 * warmth);
    hours["relative_humidity"].set(i, 60 - 22 * warmth);
    hours["wind_speed"].set(i, 12 + 5 * warmth);
    hours["wind_from_direction"].set(i, std::fmod(300 + count % 37, 360));
    hours["wind_gust"].set(i, 25);
    hours["precipitation_amount"].set(i, (count / 24) % 9 == 4 && count % 24 < 6 ? 1.5 : 0);
    hours["shortwave_radiation"].set(i, std::max(0.0, 700 * warmth));
    hours["cloud_area_fraction"].set(i, 20);
    hours["surface_pressure"].set(i, 990);
  }
}

inline core::UnitHours fair_hours(const core::UnitTraits& unit, UtcHour first, std::size_t count) {
  core::UnitHours hours(unit, first, count);
  fill_weather(hours);
  return hours;
}

// The state of a day in autumn, a week after 6 mm.
inline void enter_state(core::UnitHours& hours, LocalDate as_of) {
  core::WetnessState& state = hours.initial_state.emplace();
  state.as_of = as_of;
  state.kbdi = Millimetres(83);
  state.litter_moisture = Percent(18);
  state.ffmc = One(85);
  state.dmc = One(30);
  state.dc = One(200);
  state.last_rain = core::RainEvent{hours.unit->zone.rain_day_end(as_of - std::chrono::days(7)), Millimetres(6)};
}

// As a person may say: the last rain before the record was `amount` mm and ended `before` hours ahead of it.
inline void enter_last_rain(core::UnitHours& hours, int before, double amount) {
  hours.initial_state.emplace();
  const LocalTime clock(hours.first.start().time_since_epoch() + hours.unit->zone.standard_offset_at(hours.first.start()));
  hours.initial_state->as_of = std::chrono::floor<std::chrono::days>(clock);
  hours.initial_state->last_rain = core::RainEvent{hours.first.start() - std::chrono::hours(before), Millimetres(amount)};
}

// The feed lacks a quantity in the hours from `begin` until `end`.
inline void lose(core::UnitHours& hours, std::string_view key, std::size_t begin, std::size_t end) {
  for (std::size_t i = begin; i < end; ++i) hours[key].set_missing(i, core::Reason::gap);
}

inline void read(core::UnitHours& hours, std::string_view key, std::size_t i, double value) {
  core::Column& readings = hours.readings[core::quantity_index(key)];
  if (readings.empty()) readings = core::Column(hours.hours);
  readings.set(i, value, core::flag::kReading);
}

}  // namespace hakea::test
