#include "core/catalogue/hourly_states.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/catalogue/derive.h"
#include "core/catalogue/litter_hours.h"
#include "core/moisture/litter.h"
#include "core/wetness/canadian.h"

namespace hakea::core {
namespace {

constexpr int kRunUpFromDailyCode = 24;  // h

using Member = HourlyState WetnessState::*;

// A model knows its inputs, where it begins in an hour and where the hour leads.
struct HourlyCode {
  std::array<const Column*, 4> inputs;  // temperature, humidity, wind, rain
  std::string_view key = "hourly_ffmc";
  Member member = &WetnessState::hourly_ffmc;
  int run_up_h = kLitterRunUp;

  double at(std::size_t input, std::size_t i) const { return static_cast<double>((*inputs[input])[i]); }
  AirAndHumidity air(std::size_t i) const { return {Celsius(at(0, i)), Percent(at(1, i))}; }
  double begin(std::size_t i) const { return ffmc_of(between(equilibrium_moisture(air(i))), FfmcScale::hourly).value(); }
  double step(double code, std::size_t i) const {
    return hourly_ffmc_step(One(code), {air(i), KilometresPerHour(at(2, i)), Millimetres(at(3, i))}).value();
  }
};
HourlyCode hourly_code(const UnitHours& hours) {
  return {{&hours["air_temperature"], &hours["relative_humidity"], &hours["wind_speed"], &hours["precipitation_amount"]}};
}

struct DeadFuel {
  std::array<const Column*, 3> inputs;  // equilibria, drying and wetting, and rain
  std::string_view key;
  Member member;
  int run_up_h;
  LitterLags lags;

  double at(std::size_t input, std::size_t i) const { return static_cast<double>((*inputs[input])[i]); }
  EquilibriumMoisture equilibrium(std::size_t i) const { return {Percent(at(0, i)), Percent(at(1, i))}; }
  double begin(std::size_t i) const { return between(equilibrium(i)).value(); }
  double step(double moisture, std::size_t i) const {
    return litter_step(Percent(moisture), equilibrium(i), at(2, i), lags).value();
  }
};
DeadFuel dead_fuel(const UnitHours& hours, FuelClass fuel) {
  const std::array<const Column*, 3> inputs{&hours["equilibrium_moisture_drying"], &hours["equilibrium_moisture_wetting"],
                                            &hours["precipitation_amount"]};
  switch (fuel) {
    case FuelClass::one_hour:
      return {inputs, "dead_fuel_moisture_1h", &WetnessState::dead_fuel_1h, kLitterRunUp, lags_of_class(Hours(1))};
    case FuelClass::ten_hour:
      return {inputs, "dead_fuel_moisture_10h", &WetnessState::dead_fuel_10h, kLitterRunUp, lags_of_class(Hours(10))};
    case FuelClass::hundred_hour: break;
  }
  return {inputs, "dead_fuel_moisture_100h", &WetnessState::dead_fuel_100h, 500, lags_of_class(Hours(100))};
}

// Where the state before the record stands.
struct Entry {
  UtcHour at;
  HourlyState state;
};
template <class Model>
Entry entry(const UnitHours& hours, const Model& model) {
  if (!hours.initial_state) return {};
  const WetnessState& state = *hours.initial_state;
  const TimeZone& zone = hours.unit->zone;
  if constexpr (std::is_same_v<Model, HourlyCode>) {
    if (!state.ffmc.is_missing() && state.codes.noons_ago == 0)
      return {first_hour_from(zone.standard_instant(state.as_of, std::chrono::hours(12))),
              {state.ffmc.value(), kRunUpFromDailyCode}};
  }
  return {first_hour_from(zone.rain_day_end(state.as_of)), state.*model.member};
}

// Fills the column and, with `carried`, the model's member of the state at instant `until`.
template <class Model>
void walk(const UnitHours& hours, const Model& model, Column* out, UtcHour until, WetnessState* carried) {
  const Column* readings = readings_of(hours, model.key);
  const Entry entered = entry(hours, model);
  HourlyState now;
  int gap_h = 0;
  const auto take_entry = [&] {
    if (std::isnan(entered.state.value)) return;
    now = entered.state;
    gap_h = 0;
  };
  const auto hand_on = [&] {
    if (std::isnan(now.value) || gap_h > kLongestWeatherGap) return;
    carried->*model.member = {now.value, gap_h > 0 ? model.run_up_h : now.run_up_h};
  };
  if (hours.initial_state && entered.at < hours.first) {
    take_entry();
    gap_h = hours.first - entered.at;
  }
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = hours.first + static_cast<int>(i);
    if (hours.initial_state && hour == entered.at) take_entry();
    if (carried && hour == until) return hand_on();

    Reason why = Reason::none;
    std::uint8_t flags = 0;
    for (const Column* input : model.inputs) {
      if (why == Reason::none) why = input->why(i);
      flags = static_cast<std::uint8_t>(flags | input->flags(i));
    }
    if (why != Reason::none)
      ++gap_h;
    else if (std::isnan(now.value) || gap_h > kLongestWeatherGap)
      now = {model.begin(i), model.run_up_h};
    else if (gap_h > 0)
      now.run_up_h = model.run_up_h;
    if (why == Reason::none) gap_h = 0;

    const bool is_read = readings && !readings->is_missing(i);
    if (is_read) {
      now = {static_cast<double>((*readings)[i]), 0};
      gap_h = std::min(gap_h, 1);
    }
    if (out) {
      if (is_read)
        out->set(i, now.value, flag::kReading);
      else if (why != Reason::none)
        out->set_missing(i, why);
      else
        out->set(i, now.value, static_cast<std::uint8_t>(inherited(flags) | (now.run_up_h > 0 ? flag::kSpinUp : 0)));
    }
    if (why != Reason::none) continue;
    now.value = model.step(now.value, i);
    now.run_up_h = std::max(now.run_up_h - 1, 0);
  }
  if (carried) hand_on();
}

}  // namespace

void compute_hourly_ffmc(UnitHours& hours) { walk(hours, hourly_code(hours), &hours["hourly_ffmc"], hours.end(), nullptr); }

void compute_dead_fuel_moisture(UnitHours& hours, FuelClass fuel) {
  const DeadFuel model = dead_fuel(hours, fuel);
  walk(hours, model, &hours[model.key], hours.end(), nullptr);
}

void hand_on_hourly_states(const UnitHours& hours, UtcHour until, WetnessState& carried) {
  walk(hours, hourly_code(hours), nullptr, until, &carried);
  for (const FuelClass fuel : {FuelClass::one_hour, FuelClass::ten_hour, FuelClass::hundred_hour})
    walk(hours, dead_fuel(hours, fuel), nullptr, until, &carried);
}

}  // namespace hakea::core
