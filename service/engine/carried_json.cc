#include "service/engine/carried_json.h"

#include <fmt/format.h>

#include <array>
#include <boost/json.hpp>
#include <charconv>
#include <cmath>
#include <stdexcept>

namespace hakea::service {
namespace {

namespace json = boost::json;

// Every member stands here once: for writing and for reading. Numbers that are not whole are text, missing ones null.
template <class State, class Visit>
void members(State& s, Visit&& visit) {
  visit("kbdi", s.kbdi);
  visit("drought_factor", s.drought_factor);
  visit("litter_moisture", s.litter_moisture);
  visit("litter_moisture_sheltered", s.litter_moisture_sheltered);
  visit("ffmc", s.ffmc);
  visit("dmc", s.dmc);
  visit("dc", s.dc);
  visit("interception_store", s.interception_store);
  visit("kbdi_gap_days", s.kbdi_gap_days);
  visit("kbdi_run_up_mm", s.kbdi_run_up_mm);
  visit("kbdi_run_up_days", s.kbdi_run_up_days);
  visit("litter_run_up_h", s.litter_run_up_h);
  visit("litter_sheltered_run_up_h", s.litter_sheltered_run_up_h);
  visit("canopy_store_mm", s.canopy_store_mm);
  visit("canopy_dry_h", s.canopy_dry_h);
  visit("noons_ago", s.codes.noons_ago);
  visit("wind_at_noon_kmh", s.codes.wind_at_noon_kmh);
  visit("rain_since_noon_mm", s.codes.rain_since_noon_mm);
  visit("rain_gap_since_noon_h", s.codes.rain_gap_h);
  visit("code_gap_days", s.codes.gap_days);
  visit("code_is_reading", s.codes.is_reading);
  visit("code_why_missing", s.codes.why_missing);
  visit("code_run_up", s.codes.run_up);
  visit("code_run_up_days", s.codes.run_up_days);
  visit("hourly_ffmc", s.hourly_ffmc);
  visit("dead_fuel_1h", s.dead_fuel_1h);
  visit("dead_fuel_10h", s.dead_fuel_10h);
  visit("dead_fuel_100h", s.dead_fuel_100h);
  visit("dead_fuel_100h_daily", s.dead_fuel_100h_daily);
  visit("soil_dryness", s.soil_dryness);
}

json::value written(int value) { return value; }
// As text: Boost.JSON reads a number to within a bit only, std::from_chars exactly.
json::value written(double value) {
  if (std::isnan(value)) return nullptr;
  std::array<char, 32> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
  return json::string(digits.data(), static_cast<std::size_t>(end - digits.data()));
}
template <class Unit>
json::value written(const Quantity<Unit>& value) {
  return written(value.value());
}
json::value written(const core::HourlyState& state) { return json::array{written(state.value), state.run_up_h}; }
json::value written(const core::DailyState& state) {
  return json::array{written(state.value), state.run_up_days, state.gap_days, written(state.canopy_mm)};
}
template <class Value, std::size_t N>
json::value written(const std::array<Value, N>& values) {
  json::array list;
  for (const Value& value : values) list.push_back(written(value));
  return list;
}

void read(const json::value& from, int& value) { value = from.to_number<int>(); }
void read(const json::value& from, double& value) {
  value = std::numeric_limits<double>::quiet_NaN();
  if (from.is_null()) return;
  const json::string* digits = from.if_string();
  if (!digits) {  // as an earlier version wrote it
    value = from.to_number<double>();
    return;
  }
  const char* end = digits->data() + digits->size();
  if (const auto [stop, mistake] = std::from_chars(digits->data(), end, value); mistake != std::errc() || stop != end)
    throw std::invalid_argument(fmt::format("\"{}\" is not a number", std::string_view(digits->data(), digits->size())));
}
template <class Unit>
void read(const json::value& from, Quantity<Unit>& value) {
  double number = 0;
  read(from, number);
  value = Quantity<Unit>(number);
}
void read(const json::value& from, core::HourlyState& state) {
  read(from.at(0), state.value);
  read(from.at(1), state.run_up_h);
}
void read(const json::value& from, core::DailyState& state) {
  read(from.at(0), state.value);
  read(from.at(1), state.run_up_days);
  read(from.at(2), state.gap_days);
  read(from.at(3), state.canopy_mm);
}
template <class Value, std::size_t N>
void read(const json::value& from, std::array<Value, N>& values) {
  for (std::size_t i = 0; i < N; ++i) read(from.at(i), values[i]);
}

std::int64_t seconds(UtcTime t) { return t.time_since_epoch().count(); }
UtcTime instant(const json::value& value) { return UtcTime(std::chrono::seconds(value.to_number<std::int64_t>())); }
std::int64_t day_number(LocalDate date) { return date.time_since_epoch().count(); }
LocalDate date_of(const json::value& value) { return LocalDate(std::chrono::days(value.to_number<int>())); }

}  // namespace

std::string carried_json(const core::WetnessState& state) {
  json::object out;
  out["as_of"] = day_number(state.as_of);
  members(state, [&](const char* name, const auto& value) { out[name] = written(value); });
  if (state.last_rain) out["last_rain"] = json::array{seconds(state.last_rain->ended), written(state.last_rain->amount)};
  json::array rain;
  for (const double mm : state.daily_rain_mm) rain.push_back(written(mm));
  out["daily_rain_mm"] = std::move(rain);
  json::array recent;
  for (const double mm : state.recent_rain_mm) recent.push_back(written(mm));
  out["recent_rain_mm"] = std::move(recent);
  out["rain_before_is_assumed"] = state.rain_before_is_assumed;
  if (state.rain_known_since) out["rain_known_since"] = seconds(*state.rain_known_since);
  if (state.equivalent_rain)
    out["equivalent_rain"] = json::array{day_number(state.equivalent_rain->day), written(state.equivalent_rain->rain_mm)};
  return json::serialize(out);
}

Result<core::WetnessState> parse_carried(std::string_view text, const std::string& where) {
  try {
    const json::value document = json::parse(json::string_view(text.data(), text.size()));
    const json::object& in = document.as_object();
    core::WetnessState state;
    state.as_of = date_of(in.at("as_of"));
    // A member that is not there is one that an earlier version did not know: as in a state without it.
    members(state, [&](const char* name, auto& value) {
      if (const json::value* found = in.if_contains(name)) read(*found, value);
    });
    if (const json::value* rain = in.if_contains("last_rain"))
      read(rain->at(1), state.last_rain.emplace(core::RainEvent{instant(rain->at(0)), {}}).amount);
    for (const json::value& mm : in.at("daily_rain_mm").as_array()) read(mm, state.daily_rain_mm.emplace_back());
    if (const json::value* recent = in.if_contains("recent_rain_mm"))
      for (const json::value& mm : recent->as_array()) read(mm, state.recent_rain_mm.emplace_back());
    state.rain_before_is_assumed = in.at("rain_before_is_assumed").as_bool();
    if (const json::value* since = in.if_contains("rain_known_since")) state.rain_known_since = instant(*since);
    if (const json::value* rain = in.if_contains("equivalent_rain"))
      read(rain->at(1), state.equivalent_rain.emplace(core::EquivalentRain{date_of(rain->at(0)), 0}).rain_mm);
    return state;
  } catch (const std::exception& mistake) {  // Boost.JSON says what does not fit by throwing
    return Error{ErrorKind::unreadable, "damaged_state", where,
                 fmt::format("the carried state cannot be read: {}", mistake.what()),
                 "it is computed again from the runs at hand"};
  }
}

}  // namespace hakea::service
