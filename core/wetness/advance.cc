#include "core/wetness/advance.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/base/numbers.h"
#include "core/wetness/drought.h"

namespace hakea::core {
namespace {

using std::chrono::days;

constexpr std::size_t kFewestTemperatures = 18;  // hours of a rain day that must have one
constexpr int kDaysHandedOn = 400;               // of rain history

// The index as it stands.
struct KbdiStanding {
  KbdiDay index{kNaN, kInterception};
  int gap_days = 0;
  double run_up_mm = kNaN;  // from field capacity, while its first year is not over
  int run_up_days = 0;
  bool is_reading = false;

  bool is_known() const { return !std::isnan(index.kbdi_mm) && gap_days <= kMostGapDays; }
  void enter(double kbdi_mm) { *this = {{kbdi_mm, index.store_mm}, 0, kNaN, 0, false}; }
};

const WetnessState* state_before(const WetnessRecord& record) {
  return record.rain.before && *record.rain.before ? &**record.rain.before : nullptr;
}

void take_state(KbdiStanding& standing, const WetnessState& state) {
  if (!state.interception_store.is_missing()) standing.index.store_mm = state.interception_store.value();
  if (!state.kbdi.is_missing()) {
    standing.enter(state.kbdi.value());
    standing.gap_days = state.kbdi_gap_days;
  } else if (state.kbdi_run_up_days > 0) {
    standing.run_up_mm = state.kbdi_run_up_mm;
    standing.run_up_days = state.kbdi_run_up_days;
  }
}

void advance(KbdiStanding& standing, DailyWeather weather, bool is_complete, Millimetres annual_rain) {
  standing.is_reading = false;
  const auto step = [&](double kbdi_mm) {
    const KbdiDay before{kbdi_mm, standing.index.store_mm};
    if (!std::isnan(weather.highest_temperature_c)) return kbdi_step(before, weather, annual_rain);
    // No temperature: wetted by what is known to have fallen, not dried.
    return kbdi_step(before, {weather.rain_mm, -40}, annual_rain);
  };
  if (!std::isnan(standing.index.kbdi_mm)) {
    standing.index = step(standing.index.kbdi_mm);
    if (!is_complete) ++standing.gap_days;
    return;
  }
  // Running up from field capacity. Incomplete days begin it anew.
  if (!is_complete) {
    standing.run_up_mm = kNaN;
    standing.run_up_days = 0;
    return;
  }
  const KbdiDay after = step(standing.run_up_days == 0 ? 0 : standing.run_up_mm);
  standing.run_up_mm = after.kbdi_mm;
  standing.index.store_mm = after.store_mm;
  if (++standing.run_up_days >= kRunUpDays && !std::isnan(standing.run_up_mm)) standing.index.kbdi_mm = standing.run_up_mm;
}

// Walks the rain days of the record. `show(span, standing)` is called with the index that stands during the span's hours
// and may change it (readings); `ended(day, standing)` with the index at the end of the day.
template <class Show, class Ended>
void walk(const WetnessRecord& record, Show show, Ended ended) {
  const WetnessState* state = state_before(record);
  const Column& rain = *record.rain.hourly;
  const auto spans = rain_day_spans(record.rain.first, rain.size(), *record.rain.zone);
  if (spans.empty()) return;
  KbdiStanding standing;
  if (state && state->as_of < spans.front().day) {
    take_state(standing, *state);
    for (LocalDate d = state->as_of + days(1); d < spans.front().day; d += days(1))
      advance(standing, {0, kNaN}, false, record.annual_rain);
  }
  for (const RainDaySpan& span : spans) {
    show(span, standing);
    if (!span.has_end) break;
    double fallen = 0, highest = kNaN;
    std::size_t rains = 0, temperatures = 0;
    for (std::size_t i = span.begin; i < span.end; ++i) {
      if (!rain.is_missing(i)) {
        fallen += static_cast<double>(rain[i]);
        ++rains;
      }
      if (!record.air_temperature->is_missing(i)) {
        const auto t = static_cast<double>((*record.air_temperature)[i]);
        highest = std::isnan(highest) ? t : std::max(highest, t);
        ++temperatures;
      }
    }
    const bool is_complete = span.has_start && rains == span.end - span.begin && temperatures >= kFewestTemperatures;
    advance(standing, {fallen, highest}, is_complete, record.annual_rain);
    if (state && state->as_of == span.day) take_state(standing, *state);
    ended(span.day, standing);
  }
}

template <class Out>
void show_readings(const WetnessRecord& record, const RainDaySpan& span, KbdiStanding& standing, Out out) {
  const Column* readings = record.kbdi_readings;
  for (std::size_t i = span.begin; i < span.end; ++i) {
    if (readings && !readings->empty() && !readings->is_missing(i)) {
      standing.enter(static_cast<double>((*readings)[i]));
      standing.is_reading = true;
    }
    out(i, standing);
  }
}

std::optional<EquivalentRain> equivalent_rain(LocalDate day, double factor, double deficit) {
  const double mm = equivalent_rain_mm(One(factor), Millimetres(deficit));
  if (std::isnan(mm)) return std::nullopt;
  return EquivalentRain{day, mm};
}

// The drought factor of one rain day.
struct Availability {
  double value = kNaN;
  std::uint8_t flags = 0;
  Reason why = Reason::no_state;
};

Availability availability(const RainHistory& history, const std::optional<EquivalentRain>& entered, LocalDate today,
                          double deficit) {
  std::array<double, kDroughtFactorDays> rain{};
  std::array<double, kDroughtFactorDays> after_entry{};
  int before_history = 0, incomplete = 0, incomplete_after_entry = 0;
  for (std::size_t k = 0; k < rain.size(); ++k) {
    const LocalDate date = today - days(static_cast<int>(rain.size() - 1 - k));
    const RainHistory::Day day = history.day(date);
    rain[k] = day.mm;
    if (history.empty() || date < history.first_day())
      ++before_history;
    else if (!day.whole)
      ++incomplete;
    if (entered && date > entered->day) {
      after_entry[k] = day.mm;
      if (!day.whole) ++incomplete_after_entry;
    } else if (entered && date == entered->day) {
      after_entry[k] = entered->rain_mm;
    }
  }
  const Millimetres smd(deficit);
  if (before_history == 0 && incomplete == 0) return {drought_factor(rain, smd).value(), 0, Reason::none};
  if (entered && incomplete_after_entry <= kMostGapDays)
    return {drought_factor(after_entry, smd).value(), flag::kSpinUp, Reason::none};
  if (before_history > 0 && !history.before_is_assumed()) return {};
  if (incomplete > kMostGapDays) return {kNaN, 0, Reason::gap};
  return {drought_factor(rain, smd).value(), flag::kSpinUp, Reason::none};
}

}  // namespace

Column kbdi(const WetnessRecord& record) {
  Column out(record.rain.hourly->size(), Reason::no_state);
  const Reason why = record.annual_rain.is_missing() ? Reason::no_parameter : Reason::no_state;
  walk(
      record,
      [&](const RainDaySpan& span, KbdiStanding& standing) {
        show_readings(record, span, standing, [&](std::size_t i, const KbdiStanding& now) {
          if (now.is_known()) {
            out.set(i, now.index.kbdi_mm,
                    static_cast<std::uint8_t>((now.gap_days > 0 ? flag::kSpinUp : 0) | (now.is_reading ? flag::kReading : 0)));
          } else {
            out.set_missing(i, now.gap_days > kMostGapDays ? Reason::gap : why);
          }
        });
      },
      [](LocalDate, const KbdiStanding&) {});
  return out;
}

Column drought_factor(const WetnessRecord& record, const Column& kbdi) {
  const std::size_t hours = record.rain.hourly->size();
  Column out(hours, Reason::no_state);
  const WetnessState* state = state_before(record);
  const RainHistory history(record.rain);
  const Column* readings = record.drought_factor_readings;
  std::optional<EquivalentRain> entered = state ? state->equivalent_rain : std::nullopt;
  for (const RainDaySpan& span : rain_day_spans(record.rain.first, hours, *record.rain.zone)) {
    const LocalDate standing = span.day - days(1);
    double reading = kNaN;  // stands until the day ends
    double deficit = kNaN;
    Availability now;
    if (state && state->as_of == standing && !state->drought_factor.is_missing()) reading = state->drought_factor.value();
    if (state && state->as_of < standing && !state->drought_factor.is_missing() && !entered && !state->kbdi.is_missing())
      entered = equivalent_rain(state->as_of, state->drought_factor.value(), state->kbdi.value());
    for (std::size_t i = span.begin; i < span.end; ++i) {
      const bool is_read = readings && !readings->empty() && !readings->is_missing(i);
      if (is_read) reading = static_cast<double>((*readings)[i]);
      if (!std::isnan(reading)) {
        out.set(i, reading, flag::kReading);
        if ((is_read || i == span.begin) && !kbdi.is_missing(i))
          entered = equivalent_rain(standing, reading, static_cast<double>(kbdi[i]));
        continue;
      }
      if (kbdi.is_missing(i)) {
        out.set_missing(i, kbdi.why(i));
        continue;
      }
      const auto smd = static_cast<double>(kbdi[i]);
      if (i == span.begin || smd != deficit) {
        now = availability(history, entered, standing, smd);
        deficit = smd;
      }
      const auto inherited = static_cast<std::uint8_t>(kbdi.flags(i) & flag::kSpinUp);
      out.set(i, now.value, static_cast<std::uint8_t>(now.flags | inherited), now.why);
    }
  }
  return out;
}

std::optional<WetnessState> wetness_after(const WetnessRecord& record) {
  std::optional<WetnessState> after;
  const WetnessState* before = state_before(record);
  walk(
      record,
      [&](const RainDaySpan& span, KbdiStanding& standing) {
        show_readings(record, span, standing, [](std::size_t, const KbdiStanding&) {});
      },
      [&](LocalDate day, const KbdiStanding& standing) {
        after.emplace();
        after->as_of = day;
        if (standing.is_known()) {
          after->kbdi = Millimetres(standing.index.kbdi_mm);
          after->kbdi_gap_days = standing.gap_days;
        }
        after->interception_store = Millimetres(standing.index.store_mm);
        after->kbdi_run_up_mm = standing.run_up_mm;
        after->kbdi_run_up_days = standing.run_up_days;
      });
  if (!after) return after;

  const LocalDate day = after->as_of;
  const UtcTime end = record.rain.zone->rain_day_end(day);
  const RainHistory history(record.rain);
  for (LocalDate d = std::max(history.first_day(), day - days(kDaysHandedOn - 1)); d <= day; d += days(1)) {
    const RainHistory::Day seen = history.day(d);
    // An incomplete day that is known to be wet is handed on as what is known of it.
    after->daily_rain_mm.push_back(seen.whole || seen.mm >= kRainDay ? seen.mm : kNaN);
  }
  after->rain_before_is_assumed = history.before_is_assumed();

  // Rain and readings of the hours up to the day's end.
  const Column& rain = *record.rain.hourly;
  UtcTime known_since = record.rain.first.start();
  if (before && record.rain.zone->rain_day_end(before->as_of) >= known_since) {
    after->last_rain = before->last_rain;
    if (before->rain_known_since) known_since = std::min(known_since, *before->rain_known_since);
  }
  for (std::size_t i = 0; i < rain.size(); ++i) {
    const UtcHour hour = record.rain.first + static_cast<int>(i);
    if (hour.start() >= end) break;
    if (rain.is_missing(i)) {
      known_since = hour.end();
      after->last_rain.reset();
    } else if (rain[i] >= static_cast<float>(kRainHour)) {
      after->last_rain = RainEvent{hour.end(), Millimetres(static_cast<double>(rain[i]))};
    }
  }
  after->rain_known_since = known_since;
  if (before) after->equivalent_rain = before->equivalent_rain;
  if (before && !before->drought_factor.is_missing() && !before->kbdi.is_missing() && before->as_of < day)
    after->equivalent_rain = equivalent_rain(before->as_of, before->drought_factor.value(),
                                             static_cast<double>(static_cast<float>(before->kbdi.value())));
  const Column* readings = record.drought_factor_readings;
  if (readings && !readings->empty()) {
    const Column index = kbdi(record);
    for (std::size_t i = 0; i < rain.size(); ++i) {
      const UtcTime t = (record.rain.first + static_cast<int>(i)).start();
      if (t >= end) break;
      if (!readings->is_missing(i) && !index.is_missing(i))
        after->equivalent_rain = equivalent_rain(record.rain.zone->rain_day(t) - days(1), static_cast<double>((*readings)[i]),
                                                 static_cast<double>(index[i]));
    }
  }
  return after;
}

}  // namespace hakea::core
