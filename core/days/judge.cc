#include "core/days/judge.h"

#include <algorithm>
#include <bit>
#include <cmath>

#include "core/base/result.h"
#include "core/prescription/scopes.h"

namespace hakea::core {

using std::chrono::days;

namespace {

// A stop that is asked of hours one by one: not of sums and means, in which hours of different feeds would mix.
bool is_hazard_by_hour(const LimitHours& hours) {
  const Limit& limit = hours.limit();
  if (limit.kind != Kind::stop) return false;
  if (limit.scope == Scope::each_hour || limit.scope == Scope::at_start) return true;
  return (limit.scope == Scope::before || limit.scope == Scope::same_day) && hours.quantity().nature != Nature::amount;
}

}  // namespace

Record::Record(const UnitClock& clock, const Prescription& prescription, std::span<const UnitHours* const> points, UtcTime now)
    : prescription_(&prescription),
      points_(points.begin(), points.end()),
      clock_(&clock),
      hours_(static_cast<int>(points.front()->hours)),
      now_index_(clock.index_ended(now)) {
  HAKEA_EXPECT(clock.first() == points.front()->first);
  limits_.reserve(prescription.limits.size());
  for (const Limit& limit : prescription.limits) limits_.emplace_back(limit, prescription, points_);
}

void Record::heed(const Record& other) {
  HAKEA_EXPECT(other.clock().first() == clock_->first());
  heeded_.push_back(&other);
  for (std::size_t i = 0; i < limits_.size(); ++i)
    if (is_hazard_by_hour(limits_[i])) limits_[i].take_worse(other.limits_[i]);
}

namespace {

void take_worse_tail(DateLimit& ours, const DateLimit& theirs) {
  ours.tail.known &= theirs.tail.possible;
  ours.tail.possible &= theirs.tail.possible;
}

}  // namespace

const DateLimits& Record::on(LocalDate date) const {
  const auto known = dates_.find(date);
  if (known != dates_.end()) return known->second;
  DateLimits& limits = dates_.emplace(date, date_limits(limits_, clock_->date(date), *clock_, now_index_, hours_)).first->second;
  for (const Record* other : heeded_)
    for (std::size_t i = 0; i < limits.limits.size(); ++i)
      if (is_tail(limits_[i].limit())) take_worse_tail(limits.limits[i], other->on(date).limits[i]);
  return limits;
}

StretchValue Record::tail_of(std::size_t limit, const DateHours& date, int end) const {
  const StretchValue ours = tail_value(limits_[limit], date, *clock_, end);
  if (ours.fit == Fit::out) return ours;
  for (const Record* other : heeded_)
    if (const StretchValue theirs = other->tail_of(limit, date, end); theirs.fit == Fit::out) return theirs;
  return ours;
}

std::optional<std::pair<float, float>> Record::over_points(std::size_t quantity, int hour) const {
  std::optional<std::pair<float, float>> range;
  if (points_.size() < 2 || hour < 0 || hour >= hours_ || catalogue()[quantity].is_direction) return range;
  for (const UnitHours* point : points_) {
    const float value = point->columns[quantity][static_cast<std::size_t>(hour)];
    if (std::isnan(value)) continue;
    range = range ? std::pair(std::min(range->first, value), std::max(range->second, value)) : std::pair(value, value);
  }
  return range;
}

const DateLimit* Record::widened_on(std::size_t limit, LocalDate date) const {
  auto& wide = widened_[limit];
  if (!wide) {
    wide = std::make_unique<Widened>();
    if (const auto moved = widened(limits_[limit].limit(), limits_[limit].quantity())) {
      wide->limit = *moved;
      wide->hours.emplace(wide->limit, *prescription_, points_);
    }
  }
  if (!wide->hours) return nullptr;
  const auto [entry, is_new] = widened_dates_.try_emplace({limit, date});
  if (is_new) {
    entry->second = limits_of_date(*wide->hours, on(date).date, *clock_, now_index_);
    if (is_tail(wide->limit))
      for (const Record* other : heeded_) take_worse_tail(entry->second, *other->widened_on(limit, date));
  }
  return &entry->second;
}

int Record::duration() const { return std::max(1, static_cast<int>(std::ceil(prescription_->duration_h - 1e-9))); }

int Record::yielding_duration() const {
  const double yields = std::min(2.0, prescription_->duration_h / 3.0);
  return std::max(1, static_cast<int>(std::ceil(prescription_->duration_h - yields - 1e-9)));
}

Judge::Judge(const Record& record, LocalDate date) : record_(&record) {
  for (int k = 0; k < record.prescription().consecutive_days; ++k) dates_.push_back(&record.on(date + days(k)));
}

Question Judge::question(std::size_t which, const Variation& variation) const {
  const DateLimits& date = *dates_[which];
  asked_of_.clear();
  for (std::size_t i = 0; i < date.limits.size(); ++i) {
    const Kind kind = record_->limits()[i].limit().kind;
    if (kind == Kind::preference || i == variation.without || (kind == Kind::stop && variation.without_stops)) continue;
    asked_of_.push_back(i == variation.widen ? record_->widened_on(i, date.date.date) : &date.limits[i]);
  }
  return {.limits = asked_of_,
          .certainty = variation.certainty,
          .min_hours = variation.min_hours > 0 ? variation.min_hours : record_->duration()};
}

// A day is met when each of its consecutive dates holds a window and keeps its own day limits, and a window of the last
// keeps the tail.
Judge::Answer Judge::ask(const Variation& variation) const {
  Answer answer;
  for (std::size_t k = 0; k < dates_.size(); ++k) {
    const Question asked = question(k, variation);
    if (!keeps_day(asked)) return {};
    const bool is_first = k == 0, is_last = k + 1 == dates_.size();
    bool has_window = false;
    for (const Stretch& window : stretches(*dates_[k], asked)) {
      if (is_last && !keeps_tail(asked, window.end)) continue;
      has_window = true;
      if (is_first) answer.longest = std::max(answer.longest, window.hours());
    }
    if (!has_window) return {};
  }
  answer.is_met = true;
  return answer;
}

Verdict Judge::weather() const {
  if (record_->prescription().limits.empty()) return Verdict::unknown;
  if (ask({}).is_met) return Verdict::met;
  if (ask({.certainty = Certainty::possible}).is_met) return Verdict::unknown;
  // Near miss: no stop is to blame, and one hard limit or the duration alone must yield.
  if (ask({.without_stops = true}).is_met) return Verdict::out;
  if (ask({.min_hours = record_->yielding_duration()}).is_met) return Verdict::near_miss;
  for (std::size_t i = 0; i < record_->limits().size(); ++i) {
    if (record_->limits()[i].limit().kind != Kind::hard) continue;
    // Widening can only help where leaving the limit out would.
    if (!ask({.without = i}).is_met || !record_->widened_on(i, first().date.date)) continue;
    if (ask({.widen = i}).is_met) return Verdict::near_miss;
  }
  return Verdict::out;
}

std::vector<Stretch> Judge::windows(Certainty certainty) const {
  return stretches(first(), question(0, {.certainty = certainty}));
}

std::vector<Stretch> Judge::short_stretches() const { return stretches(first(), question(0, {.min_hours = 1})); }

std::optional<int> Judge::last_window_end(int first_window_end, Certainty certainty) const {
  if (dates_.size() == 1) return first_window_end;
  const Question asked = question(dates_.size() - 1, {.certainty = certainty});
  const auto windows = stretches(last(), asked);
  if (windows.empty()) return std::nullopt;
  const auto kept = std::find_if(windows.begin(), windows.end(), [&](const Stretch& w) { return keeps_tail(asked, w.end); });
  return last().date.within_begin + (kept == windows.end() ? windows.front() : *kept).end;
}

int Judge::longest_stretch(std::size_t without) const {
  int longest = 0;
  for (const Stretch& s : stretches(first(), question(0, {.without = without, .min_hours = 1})))
    longest = std::max(longest, s.hours());
  return longest;
}

int Judge::hours_out(std::size_t i) const {
  return first().size - std::popcount(hours_kept(record_->limits()[i], first().limits[i], first().date).possible);
}

std::optional<Limiting> Judge::limiting() const {
  const auto& limits = record_->limits();
  const Answer as_it_is = ask({});
  std::size_t best = kNoLimit;
  int most = as_it_is.longest;
  for (std::size_t i = 0; i < limits.size(); ++i) {
    if (limits[i].limit().kind == Kind::preference) continue;
    const Answer answer = ask({.without = i});
    if (answer.is_met && answer.longest > most) best = i, most = answer.longest;
  }
  const int longest_now = as_it_is.is_met ? as_it_is.longest : longest_stretch(kNoLimit);
  if (best != kNoLimit) {
    Limiting result = describe(best);
    result.alone = !as_it_is.is_met;
    result.gain_h = (as_it_is.is_met ? most : longest_stretch(best)) - longest_now;
    return result;
  }
  if (as_it_is.is_met) return std::nullopt;

  int most_gained = 0;
  for (std::size_t i = 0; i < limits.size(); ++i) {
    if (limits[i].limit().kind == Kind::preference) continue;
    const int gained = longest_stretch(i) - longest_now;
    if (gained > most_gained) best = i, most_gained = gained;
  }
  if (best != kNoLimit) {
    Limiting result = describe(best);
    result.gain_h = most_gained;
    return result;
  }
  int most_out = 0;
  for (std::size_t i = 0; i < limits.size(); ++i) {
    if (limits[i].limit().kind == Kind::preference) continue;
    const int out = hours_out(i);
    if (out > most_out) best = i, most_out = out;
  }
  if (best == kNoLimit) return std::nullopt;
  Limiting result = describe(best);
  result.out_h = most_out;
  return result;
}

// The number behind a limiting factor: where the limit is out beside the best stretch, or misses by least.
Limiting Judge::describe(std::size_t i) const {
  const LimitHours& limit = record_->limits()[i];
  const DateHours& date = first().date;
  const auto with_limit = stretches(first(), question(0, {.min_hours = 1}));
  const auto without_limit = stretches(first(), question(0, {.without = i, .min_hours = 1}));
  const auto longer = [](const Stretch& a, const Stretch& b) { return a.hours() < b.hours(); };
  const auto longest = [&](const std::vector<Stretch>& all) -> std::optional<Stretch> {
    const auto found = std::max_element(all.begin(), all.end(), longer);
    return found == all.end() ? std::nullopt : std::optional(*found);
  };
  const std::optional<Stretch> kept = longest(with_limit), freed = longest(without_limit);
  const Stretch shown = kept.value_or(freed.value_or(Stretch{0, first().size}));
  const int begin = date.within_begin + shown.begin, end = date.within_begin + shown.end;

  StretchValue seen;
  // Whether the value is that of one hour, not a sum or a mean.
  const bool is_hour = limit.limit().scope != Scope::window_mean && limit.quantity().nature != Nature::amount;
  switch (limit.limit().scope) {
    case Scope::at_start:
    case Scope::before: seen = start_value(limit, date, record_->clock(), date.within_begin + freed.value_or(shown).begin); break;
    case Scope::same_day: seen = day_value(limit, date, record_->now_index()); break;
    case Scope::night_after:
    case Scope::days_after: {
      const auto last_end = last_window_end(end, Certainty::possible).value_or(end);
      seen = record_->tail_of(i, last().date, last_end);
      break;
    }
    case Scope::window_mean:
    case Scope::window_min:
    case Scope::window_max: {
      const Stretch whole = freed.value_or(shown);
      seen = window_value(limit, date.within_begin + whole.begin, date.within_begin + whole.end);
      break;
    }
    case Scope::each_hour: {
      // Outside hours inside the stretch it could have been; the one nearest to what is kept, else the narrowest miss.
      const Stretch could = freed.value_or(Stretch{0, first().size});
      double nearest = std::numeric_limits<double>::infinity();
      for (int h = date.within_begin + could.begin; h < date.within_begin + could.end + limit.limit().hours_after; ++h) {
        if (limit.fit(h) != Fit::out) continue;
        const double distance = kept ? std::min(std::abs(h - begin + 0.5), std::abs(h - end + 0.5)) : -limit.margin(h).own;
        if (distance < nearest || std::isinf(nearest)) {
          nearest = std::isnan(distance) ? nearest : distance;
          seen = {.fit = Fit::out, .value = limit.value(h), .at = h, .margin = limit.margin(h), .why = Reason::none};
        }
      }
      break;
    }
  }
  Limiting result{
      .limit = i, .value = {}, .margin = {}, .margin_errors = {}, .gain_h = {}, .out_h = {}, .at = {}, .over_points = {}};
  if (!std::isnan(seen.value)) {
    result.value = static_cast<float>(seen.value);
    result.at = record_->clock().hour(seen.at);
    if (!std::isnan(seen.margin.own)) result.margin = seen.margin.own;
    if (!std::isnan(seen.margin.errors)) result.margin_errors = seen.margin.errors;
    if (is_hour) result.over_points = record_->over_points(limit.limit().quantity, seen.at);
  }
  return result;
}

}  // namespace hakea::core
