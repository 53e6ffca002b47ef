#include "service/engine/carried_json.h"

#include <fmt/format.h>

#include <boost/json.hpp>
#include <cmath>

namespace hakea::service {
namespace {

namespace json = boost::json;

// Every member stands here once: for writing and for reading. Numbers are doubles, missing ones null.
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
}

json::value number_json(double value) { return std::isnan(value) ? json::value(nullptr) : json::value(value); }

double number_of(const json::value& value) {
  return value.is_null() ? std::numeric_limits<double>::quiet_NaN() : value.to_number<double>();
}

std::int64_t seconds(UtcTime t) { return t.time_since_epoch().count(); }
UtcTime instant(const json::value& value) { return UtcTime(std::chrono::seconds(value.to_number<std::int64_t>())); }
std::int64_t day_number(LocalDate date) { return date.time_since_epoch().count(); }
LocalDate date_of(const json::value& value) { return LocalDate(std::chrono::days(value.to_number<int>())); }

struct Writer {
  json::object& out;
  void operator()(const char* name, int value) const { out[name] = value; }
  void operator()(const char* name, double value) const { out[name] = number_json(value); }
  template <class Quantity>
  void operator()(const char* name, const Quantity& value) const {
    out[name] = number_json(value.value());
  }
};

struct Reader {
  const json::object& in;
  void operator()(const char* name, int& value) const { value = in.at(name).to_number<int>(); }
  void operator()(const char* name, double& value) const { value = number_of(in.at(name)); }
  template <class Quantity>
  void operator()(const char* name, Quantity& value) const {
    value = Quantity(number_of(in.at(name)));
  }
};

}  // namespace

std::string carried_json(const core::WetnessState& state) {
  json::object out;
  out["as_of"] = day_number(state.as_of);
  members(state, Writer{out});
  if (state.last_rain)
    out["last_rain"] = json::array{seconds(state.last_rain->ended), number_json(state.last_rain->amount.value())};
  json::array rain;
  for (const double mm : state.daily_rain_mm) rain.push_back(number_json(mm));
  out["daily_rain_mm"] = std::move(rain);
  out["rain_before_is_assumed"] = state.rain_before_is_assumed;
  if (state.rain_known_since) out["rain_known_since"] = seconds(*state.rain_known_since);
  if (state.equivalent_rain)
    out["equivalent_rain"] = json::array{day_number(state.equivalent_rain->day), state.equivalent_rain->rain_mm};
  return json::serialize(out);
}

Result<core::WetnessState> parse_carried(std::string_view text, const std::string& where) {
  try {
    const json::value document = json::parse(json::string_view(text.data(), text.size()));
    const json::object& in = document.as_object();
    core::WetnessState state;
    state.as_of = date_of(in.at("as_of"));
    members(state, Reader{in});
    if (const json::value* rain = in.if_contains("last_rain"))
      state.last_rain = core::RainEvent{instant(rain->at(0)), Millimetres(number_of(rain->at(1)))};
    for (const json::value& mm : in.at("daily_rain_mm").as_array()) state.daily_rain_mm.push_back(number_of(mm));
    state.rain_before_is_assumed = in.at("rain_before_is_assumed").as_bool();
    if (const json::value* since = in.if_contains("rain_known_since")) state.rain_known_since = instant(*since);
    if (const json::value* rain = in.if_contains("equivalent_rain"))
      state.equivalent_rain = core::EquivalentRain{date_of(rain->at(0)), number_of(rain->at(1))};
    return state;
  } catch (const std::exception& mistake) {  // Boost.JSON says what does not fit by throwing
    return Error{ErrorKind::unreadable, "damaged_state", where,
                 fmt::format("the carried state cannot be read: {}", mistake.what()),
                 "it is computed again from the runs at hand"};
  }
}

}  // namespace hakea::service
