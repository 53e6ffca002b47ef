#include "core/days/score.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "core/prescription/scopes.h"

namespace hakea::core {
namespace {

constexpr double kMarginWeight = 0.1, kNoteWeight = 0.05, kMostForNotes = 0.2, kShortWeight = 0.5;

bool has_preference(const Limit& limit) { return !limit.preferred.is_empty(); }

// The hours a scope covers, where it asks of hours one by one; otherwise the single value it makes of them.
struct Covered {
  StretchValue value;
  int begin = 0, end = 0;  // hours asked one by one; empty for sums, means and the like
};

std::optional<Covered> covered(std::size_t i, const Record& record, const Judge& judge, int begin, int end,
                               std::optional<int> last_end) {
  const LimitHours& hours = record.limits()[i];
  const Limit& limit = hours.limit();
  const DateHours& date = judge.first().date;
  const bool is_amount = hours.quantity().nature == Nature::amount;
  switch (limit.scope) {
    case Scope::each_hour: return Covered{hours.every_hour(begin, end + limit.hours_after), begin, end};
    case Scope::at_start: return Covered{start_value(hours, date, record.clock(), begin), begin, begin + 1};
    case Scope::before: {
      const StretchValue value = start_value(hours, date, record.clock(), begin);
      if (is_amount) return Covered{value, 0, 0};
      if (limit.days > 0) return Covered{value, record.clock().date(date.date - std::chrono::days(limit.days)).begin, date.begin};
      return Covered{value, begin - limit.hours, begin};
    }
    case Scope::window_mean:
    case Scope::window_min:
    case Scope::window_max: return Covered{window_value(hours, begin, end), 0, 0};
    case Scope::same_day: {
      const StretchValue value = day_value(hours, date, record.now_index());
      if (is_amount) return Covered{value, 0, 0};
      if (hours.quantity().nature == Nature::daily || hours.quantity().nature == Nature::daily_noon)
        return Covered{value, value.at, value.at + 1};
      return Covered{value, date.begin, date.end};
    }
    case Scope::night_after:
    case Scope::days_after: {
      if (!last_end) return std::nullopt;
      const StretchValue value = record.tail_of(i, judge.last().date, *last_end);
      if (is_amount) return Covered{value, 0, 0};
      const auto [from, to] = tail_hours(limit, judge.last().date, record.clock(), *last_end);
      return Covered{value, from, to};
    }
  }
  return std::nullopt;
}

// What is done with values outside their model's domain.
enum class Doubtful : std::uint8_t { counted, left_out };

double satisfaction_in(const LimitHours& hours, int h, Doubtful doubtful) {
  if (doubtful == Doubtful::left_out && hours.is_out_of_domain(h)) return std::numeric_limits<double>::quiet_NaN();
  return satisfaction(hours.limit(), hours.value(h));
}

// Satisfaction of a limit that is not asked hour by hour of the window.
double overall_satisfaction(const LimitHours& hours, const Covered& c, Doubtful doubtful) {
  if (c.begin == c.end)
    return doubtful == Doubtful::left_out && c.value.is_out_of_domain ? std::numeric_limits<double>::quiet_NaN()
                                                                      : satisfaction(hours.limit(), c.value.value);
  double worst = std::numeric_limits<double>::quiet_NaN();
  for (int h = std::max(c.begin, 0); h < std::min(c.end, hours.size()); ++h) {
    const double s = satisfaction_in(hours, h, doubtful);
    if (!std::isnan(s) && !(worst <= s)) worst = s;
  }
  return worst;
}

double preference(const std::vector<LimitHours>& limits, const std::vector<std::optional<Covered>>& by_limit, int begin, int end,
                  Doubtful doubtful) {
  std::vector<double> addends;
  double total = 0;
  int counted = 0;
  for (int h = begin; h < end; ++h) {
    double smallest = std::numeric_limits<double>::quiet_NaN();
    for (const LimitHours& limit : limits) {
      if (limit.limit().scope != Scope::each_hour || !has_preference(limit.limit())) continue;
      const double s = satisfaction_in(limit, h, doubtful);
      if (!std::isnan(s) && !(smallest <= s)) smallest = s;
    }
    if (!std::isnan(smallest)) total += smallest, ++counted;
  }
  if (counted > 0) addends.push_back(total / counted);
  for (std::size_t i = 0; i < limits.size(); ++i) {
    if (limits[i].limit().scope == Scope::each_hour || !has_preference(limits[i].limit()) || !by_limit[i]) continue;
    const double s = overall_satisfaction(limits[i], *by_limit[i], doubtful);
    if (!std::isnan(s)) addends.push_back(s);
  }
  if (addends.empty()) return 1.0;
  double sum = 0;
  for (const double a : addends) sum += a;
  return sum / static_cast<double>(addends.size());
}

double smallest_margin(const std::vector<LimitHours>& limits, const std::vector<std::optional<Covered>>& by_limit) {
  double smallest = std::numeric_limits<double>::quiet_NaN();
  for (std::size_t i = 0; i < limits.size(); ++i) {
    if (limits[i].limit().kind == Kind::preference || !by_limit[i]) continue;
    const double m = by_limit[i]->value.margin.errors;
    if (!std::isnan(m) && !(smallest <= m)) smallest = m;
  }
  return smallest;
}

// The first later date on which a days_after limit would be out, and its worst hour.
std::optional<TailValue> beyond(const Record& record, std::size_t i, LocalDate last_date) {
  const LimitHours& limit = record.limits()[i];
  if (limit.limit().scope != Scope::days_after || limit.quantity().nature == Nature::amount) return std::nullopt;
  for (LocalDate date = last_date + std::chrono::days(limit.limit().days + 1);; date += std::chrono::days(1)) {
    const DateHours hours = record.clock().date(date);
    if (hours.begin >= record.hours()) return std::nullopt;
    int worst = -1;
    for (int h = std::max(hours.begin, 0); h < std::min(hours.end, record.hours()); ++h)
      if (limit.fit(h) == Fit::out && (worst < 0 || limit.margin(h).own < limit.margin(worst).own)) worst = h;
    if (worst >= 0)
      return TailValue{.limit = i, .value = static_cast<float>(limit.value(worst)), .at = record.clock().hour(worst)};
  }
}

Tail tail(const Record& record, const Judge& judge, const std::vector<std::optional<Covered>>& by_limit) {
  Tail result;
  double narrowest = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < record.limits().size(); ++i) {
    const LimitHours& limit = record.limits()[i];
    if (!is_tail(limit.limit()) || limit.limit().kind == Kind::preference || !by_limit[i]) continue;
    const StretchValue& value = by_limit[i]->value;
    const TailVerdict here = value.fit == Fit::out       ? TailVerdict::out
                             : value.fit == Fit::unknown ? TailVerdict::unknown
                                                         : TailVerdict::in;
    if (here == TailVerdict::out || result.verdict == TailVerdict::none ||
        (here == TailVerdict::unknown && result.verdict == TailVerdict::in))
      result.verdict = here;
    const double margin = std::isnan(value.margin.errors) ? value.margin.own : value.margin.errors;
    if (!std::isnan(value.value) && !std::isnan(margin) && margin < narrowest) {
      narrowest = margin;
      result.worst = TailValue{.limit = i, .value = static_cast<float>(value.value), .at = record.clock().hour(value.at)};
    }
    if (value.fit == Fit::out) continue;
    const auto look_beyond = [&](const Record& feed) {
      const auto later = beyond(feed, i, judge.last().date.date);
      if (later && (!result.beyond || later->at < result.beyond->at)) result.beyond = later;
    };
    look_beyond(record);
    for (const Record* other : record.heeded()) look_beyond(*other);
  }
  return result;
}

}  // namespace

Score score(const Record& record, const Judge& judge, Stretch stretch, Certainty certainty, bool is_short) {
  const auto& limits = record.limits();
  const int begin = judge.first().date.within_begin + stretch.begin, end = judge.first().date.within_begin + stretch.end;
  const std::optional<int> last_end = judge.last_window_end(end, certainty);
  std::vector<std::optional<Covered>> by_limit;
  by_limit.reserve(limits.size());
  for (std::size_t i = 0; i < limits.size(); ++i) by_limit.push_back(covered(i, record, judge, begin, end, last_end));

  Score result;
  for (std::size_t i = 0; i < limits.size(); ++i) {
    if (limits[i].limit().kind != Kind::preference || !by_limit[i] || by_limit[i]->value.fit != Fit::out) continue;
    const double v = by_limit[i]->value.value;
    result.notes.push_back({.limit = i, .value = std::isnan(v) ? std::nullopt : std::optional(static_cast<float>(v))});
  }
  result.tail = tail(record, judge, by_limit);

  const double smallest = smallest_margin(limits, by_limit);
  result.margin = std::isnan(smallest) ? 1.0 : smallest;
  double preferred = preference(limits, by_limit, begin, end, Doubtful::counted);
  // A value outside its model's domain can lower the fit, never raise it.
  if (std::any_of(limits.begin(), limits.end(), [](const LimitHours& limit) { return limit.has_out_of_domain(); }))
    preferred = std::min(preferred, preference(limits, by_limit, begin, end, Doubtful::left_out));
  const double for_margin = -kMarginWeight * (1.0 - std::clamp(result.margin, 0.0, 1.0));
  const double for_notes = -std::min(kMostForNotes, kNoteWeight * static_cast<double>(result.notes.size()));
  result.parts = {{"preference", preferred}, {"margin", for_margin}, {"notes", for_notes}};
  const double sum = preferred + for_margin + for_notes;
  double fit = std::clamp(sum, 0.0, 1.0);
  if (fit != sum) result.parts.push_back({"clipped", fit - sum});
  if (is_short) {
    const double share = std::min(1.0, stretch.hours() / record.prescription().duration_h) * kShortWeight;
    result.parts.push_back({"short", fit * share - fit});
    fit *= share;
  }
  result.fit = std::round(fit * 100.0) / 100.0;
  return result;
}

}  // namespace hakea::core
