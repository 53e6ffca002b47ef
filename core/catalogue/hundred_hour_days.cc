#include "core/catalogue/hundred_hour_days.h"

#include <algorithm>
#include <cmath>

#include "core/catalogue/derive.h"
#include "core/moisture/equilibrium.h"
#include "core/moisture/time_lag.h"
#include "core/weather/sun.h"
#include "core/wetness/advance.h"

namespace hakea::core {
namespace {

using std::chrono::days;

constexpr std::string_view kKey = "dead_fuel_moisture_100h_daily";
constexpr int kRunUp = 20;  // days
constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();

// The weather of one rain day; missing where an hour of it is.
TimeLagDay day_of(const UnitHours& hours, const RainDaySpan& span) {
  const Column &air = hours["air_temperature"], &humidity = hours["relative_humidity"], &rain = hours["precipitation_amount"];
  double warmest = -1e9, coldest = 1e9, driest = 1e9, dampest = -1e9;
  int wet_h = 0;
  for (std::size_t i = span.begin; i < span.end; ++i) {
    if (air.is_missing(i) || humidity.is_missing(i) || rain.is_missing(i)) return {};
    const auto t = static_cast<double>(air[i]), h = static_cast<double>(humidity[i]);
    warmest = std::max(warmest, t);
    coldest = std::min(coldest, t);
    driest = std::min(driest, h);
    dampest = std::max(dampest, h);
    if (rain[i] >= static_cast<float>(kRainHour)) ++wet_h;
  }
  if (!span.has_start || !span.has_end) return {};
  const Site& site = hours.unit->site;
  const SunTimes sun = sun_times(span.day - days(1), site.latitude_deg, site.longitude_deg);
  return {{Celsius(warmest), Percent(driest)}, {Celsius(coldest), Percent(dampest)}, Hours(sun.day_length_h), Hours(wet_h)};
}

struct Standing {
  double moisture = kMissing;
  int run_up = 0, gap_days = 0;
  bool is_reading = false;

  void take(const WetnessState& state) {
    const DailyState& carried = state.dead_fuel_100h_daily;
    if (!std::isnan(carried.value)) *this = {carried.value, carried.run_up_days, carried.gap_days, false};
  }
  void advance(const TimeLagDay& day) {
    is_reading = false;
    if (day.rain.is_missing()) {
      ++gap_days;
      run_up = kRunUp;
      return;
    }
    run_up = std::max(run_up - 1, 0);
    if (std::isnan(moisture) || gap_days > kMostGapDays) {
      moisture = (simard_equilibrium_moisture(day.driest).value() + simard_equilibrium_moisture(day.dampest).value()) / 2;
      run_up = kRunUp;
    }
    moisture = hundred_hour_step(Percent(moisture), day).value();
    gap_days = 0;
  }
  void show(Column& out, std::size_t i) const {
    if (gap_days > kMostGapDays || std::isnan(moisture))
      out.set_missing(i, Reason::gap);
    else
      out.set(i, moisture, static_cast<std::uint8_t>((run_up > 0 ? flag::kSpinUp : 0) | (is_reading ? flag::kReading : 0)));
  }
};

void walk(const UnitHours& hours, Column* out, WetnessState* carried) {
  const Column* readings = readings_of(hours, kKey);
  const auto spans = rain_day_spans(hours.first, hours.hours, hours.unit->zone);
  Standing standing;
  const std::optional<WetnessState>& state = hours.initial_state;
  if (state && !spans.empty() && state->as_of < spans.front().day) {
    standing.take(*state);
    for (LocalDate d = state->as_of + days(1); d < spans.front().day; d += days(1)) standing.advance({});
  }
  for (const RainDaySpan& span : spans) {
    for (std::size_t i = span.begin; i < span.end; ++i) {
      if (readings && !readings->is_missing(i)) standing = {static_cast<double>((*readings)[i]), 0, 0, true};
      if (out) standing.show(*out, i);
    }
    if (!span.has_end) return;
    standing.advance(day_of(hours, span));
    if (state && state->as_of == span.day) standing.take(*state);
    if (carried && carried->as_of == span.day && standing.gap_days <= kMostGapDays)
      carried->dead_fuel_100h_daily = {standing.moisture, standing.run_up, standing.gap_days};
  }
}

}  // namespace

void compute_hundred_hour_days(UnitHours& hours) { walk(hours, &hours[kKey], nullptr); }

void hand_on_hundred_hour_days(const UnitHours& hours, WetnessState& carried) { walk(hours, nullptr, &carried); }

}  // namespace hakea::core
