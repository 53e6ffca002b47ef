#include "core/wetness/rain_history.h"

#include <algorithm>
#include <cmath>

namespace hakea::core {

using std::chrono::days;

std::vector<RainDaySpan> rain_day_spans(UtcHour first, std::size_t hours, const TimeZone& zone) {
  std::vector<RainDaySpan> spans;
  std::size_t i = 0;
  for (LocalDate date = zone.rain_day(first.start()); i < hours; date += days(1)) {
    const auto begin_hour = first_hour_from(zone.rain_day_end(date - days(1)));
    const auto end_hour = first_hour_from(zone.rain_day_end(date));
    const auto end = std::min(static_cast<std::size_t>(std::max(end_hour - first, 0)), hours);
    spans.push_back({date, i, end, begin_hour >= first, end_hour <= first + static_cast<int>(hours)});
    i = end;
  }
  return spans;
}

void RainHistory::put(LocalDate date, Day day) {
  if (days_.empty()) {
    first_ = date;
  } else if (date < first_) {
    days_.insert(days_.begin(), static_cast<std::size_t>((first_ - date).count()), Day{});
    first_ = date;
  }
  const auto index = static_cast<std::size_t>((date - first_).count());
  if (index >= days_.size()) days_.resize(index + 1);
  days_[index] = day;
}

RainHistory::RainHistory(const RainRecord& record) {
  if (record.before && *record.before) {
    const WetnessState& state = **record.before;
    const auto entered = static_cast<int>(state.daily_rain_mm.size());
    for (int k = 0; k < entered; ++k) {
      const double mm = state.daily_rain_mm[static_cast<std::size_t>(k)];
      put(state.as_of - days(entered - 1 - k), std::isnan(mm) ? Day{} : Day{mm, true});
    }
    before_is_assumed_ = state.rain_before_is_assumed;
    if (entered == 0 && state.last_rain) {
      const LocalDate fell = record.zone->rain_day(state.last_rain->ended - std::chrono::seconds(1));
      if (fell <= state.as_of) {
        put(fell, {state.last_rain->amount.value(), true});
        for (LocalDate d = fell + days(1); d <= state.as_of; d += days(1)) put(d, {0, true});
        before_is_assumed_ = true;
      }
    }
  }
  for (const RainDaySpan& span : rain_day_spans(record.first, record.hourly->size(), *record.zone)) {
    if (!span.has_end) break;
    Day seen{0, span.has_start};
    for (std::size_t i = span.begin; i < span.end; ++i) {
      if (record.hourly->is_missing(i)) {
        seen.whole = false;
      } else {
        seen.mm += static_cast<double>((*record.hourly)[i]);
      }
    }
    const Day known = day(span.day);
    if (seen.whole || !known.whole) put(span.day, seen);
  }
}

RainHistory::Day RainHistory::day(LocalDate date) const {
  if (days_.empty() || date < first_ || date > last_day()) return {};
  return days_[static_cast<std::size_t>((date - first_).count())];
}

Column days_since_rain(const RainRecord& record, double rain_mm) {
  const std::size_t hours = record.hourly->size();
  Column out(hours, Reason::gap);
  const RainHistory history(record);
  enum class Known { at_least, exactly, not_known } known = Known::at_least;
  const auto spans = rain_day_spans(record.first, hours, *record.zone);
  if (spans.empty()) return out;
  const float threshold = static_cast<float>(rain_mm);

  // `base` is the day from which whole days are counted: that of the rain, or the one before the history.
  LocalDate base = history.empty() ? spans.front().day : history.first_day() - days(1);
  const auto pass = [&](LocalDate date) {
    const RainHistory::Day day = history.day(date);
    if (static_cast<float>(day.mm) >= threshold) {
      known = Known::exactly;
      base = date;
    } else if (!day.whole) {
      // The history may begin within a day; it is counted from that day's end.
      if (date == history.first_day())
        base = date;
      else
        known = Known::not_known;
    }
  };
  const LocalDate standing_first = spans.front().day - days(1);
  if (!history.empty())
    for (LocalDate d = history.first_day(); d <= standing_first; d += days(1)) pass(d);

  for (const RainDaySpan& span : spans) {
    const LocalDate standing = span.day - days(1);
    if (standing > standing_first) pass(standing);
    for (std::size_t i = span.begin; i < span.end; ++i)
      if (known != Known::not_known)
        out.set(i, std::max<double>(static_cast<double>((standing - base).count()), 0),
                known == Known::at_least ? flag::kAtLeast : std::uint8_t{0});
  }
  return out;
}

Column hours_since_rain(const RainRecord& record) {
  const std::size_t hours = record.hourly->size();
  Column out(hours, Reason::gap);
  constexpr UtcTime kNever = UtcTime::min();
  UtcTime rained = kNever;  // end of the last hour with rain
  UtcTime known_since = record.first.start();
  const WetnessState* state = record.before && *record.before ? &**record.before : nullptr;
  const UtcTime as_of = state ? record.zone->rain_day_end(state->as_of) : UtcTime::min();
  if (state && state->rain_known_since && as_of >= known_since) known_since = std::min(known_since, *state->rain_known_since);
  const float threshold = static_cast<float>(kRainHour);

  for (std::size_t i = 0; i < hours; ++i) {
    const UtcTime now = (record.first + static_cast<int>(i)).start();
    // An entered last rain says that nothing fell from its end to the end of its state's day.
    const bool entered_holds = state && state->last_rain && state->last_rain->ended <= now && as_of >= known_since &&
                               static_cast<float>(state->last_rain->amount.value()) >= threshold;
    if (entered_holds) rained = std::max(rained, state->last_rain->ended);
    const auto since = [now](UtcTime t) { return static_cast<double>((now - t).count()) / 3600; };
    if (rained != kNever) {
      out.set(i, since(rained));
    } else {
      out.set(i, since(known_since), flag::kAtLeast);
    }
    if (record.hourly->is_missing(i)) {
      const bool known_dry = state && state->last_rain && state->last_rain->ended <= now && now < as_of;
      if (!known_dry) {
        rained = kNever;
        known_since = now + std::chrono::hours(1);
      }
    } else if ((*record.hourly)[i] >= threshold) {
      rained = now + std::chrono::hours(1);
    }
  }
  return out;
}

}  // namespace hakea::core
