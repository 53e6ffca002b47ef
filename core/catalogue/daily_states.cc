#include "core/catalogue/daily_states.h"

#include <algorithm>
#include <cmath>

#include "core/catalogue/derive.h"
#include "core/moisture/equilibrium.h"
#include "core/moisture/time_lag.h"
#include "core/weather/sun.h"
#include "core/wetness/advance.h"
#include "core/wetness/soil_dryness.h"

namespace hakea::core {
namespace {

using std::chrono::days;

// Hours of daylight in a rain day: between two hours the sun climbs or sinks evenly.
double daylight_h(const Column& elevation, const RainDaySpan& span) {
  constexpr double kHorizon = kSunriseHorizon.value();
  double light = 0;
  for (std::size_t i = span.begin; i < span.end; ++i) {
    const double now = static_cast<double>(elevation[i]) - kHorizon;
    const double next = i + 1 < elevation.size() ? static_cast<double>(elevation[i + 1]) - kHorizon : now;
    if (now > 0 && next > 0)
      light += 1;
    else if (now > 0 || next > 0)
      light += std::max(now, next) / (std::max(now, next) - std::min(now, next));
  }
  return light;
}

// The weather of one rain day.
struct DayOfHours {
  bool is_whole = false;
  double warmest = -1e9, coldest = 1e9, driest = 1e9, dampest = -1e9, rain_mm = 0;
  int rain_h = 0;
};
DayOfHours day_of(const UnitHours& hours, const RainDaySpan& span, bool with_humidity) {
  const Column &air = hours["air_temperature"], &humidity = hours["relative_humidity"], &rain = hours["precipitation_amount"];
  DayOfHours day;
  for (std::size_t i = span.begin; i < span.end; ++i) {
    if (air.is_missing(i) || rain.is_missing(i) || (with_humidity && humidity.is_missing(i))) return day;
    const auto t = static_cast<double>(air[i]), h = static_cast<double>(humidity[i]);
    day.warmest = std::max(day.warmest, t);
    day.coldest = std::min(day.coldest, t);
    day.driest = std::min(day.driest, h);
    day.dampest = std::max(day.dampest, h);
    day.rain_mm += static_cast<double>(rain[i]);
    if (rain[i] >= static_cast<float>(kRainHour)) ++day.rain_h;
  }
  day.is_whole = span.has_start && span.has_end;
  return day;
}

struct HundredHour {
  static constexpr std::string_view key = "dead_fuel_moisture_100h_daily";
  static constexpr DailyState WetnessState::*member = &WetnessState::dead_fuel_100h_daily;
  static constexpr int run_up_days = 20;
  static constexpr bool forgets = true;  // and so is shown while it runs up
  static constexpr bool needs_humidity = true;

  static void advance(DailyState& state, const UnitHours& hours, const RainDaySpan& span, const DayOfHours& day) {
    const TimeLagDay air{{Celsius(day.warmest), Percent(day.driest)},
                         {Celsius(day.coldest), Percent(day.dampest)},
                         Hours(daylight_h(hours["solar_elevation"], span)),
                         Hours(day.rain_h)};
    if (std::isnan(state.value))
      state.value = (simard_equilibrium_moisture(air.driest).value() + simard_equilibrium_moisture(air.dampest).value()) / 2;
    state.value = hundred_hour_step(Percent(state.value), air).value();
  }
};

struct Soil {
  static constexpr std::string_view key = "soil_dryness_index";
  static constexpr DailyState WetnessState::*member = &WetnessState::soil_dryness;
  static constexpr int run_up_days = kRunUpDays;
  static constexpr bool forgets = false;
  static constexpr bool needs_humidity = false;

  static void advance(DailyState& state, const UnitHours&, const RainDaySpan&, const DayOfHours& day) {
    const SoilDryness before{std::isnan(state.value) ? 0 : state.value, state.canopy_mm};
    const SoilDryness after = soil_dryness_step(before, Millimetres(day.rain_mm), Celsius(day.warmest));
    state.value = after.deficit_mm;
    state.canopy_mm = after.canopy_mm;
  }
};

template <class Model>
class DailyStanding {
 public:
  void take(const DailyState& state) {
    if (!std::isnan(state.value)) state_ = state;
  }
  void read(double value) {
    state_ = {value, 0, 0, state_.canopy_mm};
    is_reading_ = true;
  }
  void skip() {
    is_reading_ = false;
    if (std::isnan(state_.value)) return;
    if (is_known()) ++state_.gap_days;
    if (Model::forgets || state_.run_up_days > 0) state_.run_up_days = Model::run_up_days;
    if (!Model::forgets && state_.run_up_days > 0) state_ = {};  // its first year begins anew
  }
  void advance(const UnitHours& hours, const RainDaySpan& span) {
    const DayOfHours day = day_of(hours, span, Model::needs_humidity);
    if (!day.is_whole) return skip();
    is_reading_ = false;
    if (Model::forgets && !is_known()) state_ = {};
    if (std::isnan(state_.value)) state_.run_up_days = Model::run_up_days + 1;
    state_.run_up_days = std::max(state_.run_up_days - 1, 0);
    Model::advance(state_, hours, span, day);
    if (Model::forgets) state_.gap_days = 0;
  }
  bool is_known() const { return !std::isnan(state_.value) && state_.gap_days <= kMostGapDays; }
  const DailyState& state() const { return state_; }

  void show(Column& out, std::size_t i) const {
    if (!is_known() || (!Model::forgets && state_.run_up_days > 0)) {
      out.set_missing(i, state_.gap_days > kMostGapDays || Model::forgets ? Reason::gap : Reason::no_state);
      return;
    }
    const bool is_spin_up = state_.run_up_days > 0 || state_.gap_days > 0;
    out.set(i, state_.value, static_cast<std::uint8_t>((is_spin_up ? flag::kSpinUp : 0) | (is_reading_ ? flag::kReading : 0)));
  }

 private:
  DailyState state_;
  bool is_reading_ = false;
};

template <class Model>
void walk(const UnitHours& hours, Column* out, WetnessState* carried) {
  const Column* readings = readings_of(hours, Model::key);
  const auto spans = rain_day_spans(hours.first, hours.hours, hours.unit->zone);
  DailyStanding<Model> standing;
  const std::optional<WetnessState>& before = hours.initial_state;
  if (before && !spans.empty() && before->as_of < spans.front().day) {
    standing.take((*before).*Model::member);
    for (LocalDate d = before->as_of + days(1); d < spans.front().day; d += days(1)) standing.skip();
  }
  for (const RainDaySpan& span : spans) {
    for (std::size_t i = span.begin; i < span.end; ++i) {
      if (readings && !readings->is_missing(i)) standing.read(static_cast<double>((*readings)[i]));
      if (out) standing.show(*out, i);
    }
    if (!span.has_end) return;
    standing.advance(hours, span);
    if (before && before->as_of == span.day) standing.take((*before).*Model::member);
    if (carried && carried->as_of == span.day) carried->*Model::member = standing.state();
  }
}

bool has_soil_dryness(const UnitHours& hours) {
  const Site& site = hours.unit->site;
  return is_in_tasmania(site.latitude_deg, site.longitude_deg);
}

}  // namespace

void compute_hundred_hour_days(UnitHours& hours) { walk<HundredHour>(hours, &hours[HundredHour::key], nullptr); }

void compute_soil_dryness(UnitHours& hours) {
  if (has_soil_dryness(hours)) return walk<Soil>(hours, &hours[Soil::key], nullptr);
  fill_missing(hours[Soil::key], Reason::no_model);
  overlay_daily_readings(hours, Soil::key, std::chrono::hours(9));
}

void hand_on_daily_states(const UnitHours& hours, WetnessState& carried) {
  walk<HundredHour>(hours, nullptr, &carried);
  if (has_soil_dryness(hours)) walk<Soil>(hours, nullptr, &carried);
}

}  // namespace hakea::core
