#include "core/days/open_burn.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "core/catalogue/catalogue.h"
#include "core/days/exposed.h"
#include "core/prescription/scopes.h"

namespace hakea::core {
namespace {

constexpr double kWind_kmh = 25;
constexpr int kNoon = 12;

void keep_worse(std::optional<WorstHour>& worst, float value, UtcHour at, bool low_is_worse = false) {
  if (std::isnan(value)) return;
  if (!worst || (low_is_worse ? value < worst->value : value > worst->value)) worst = WorstHour{value, at};
}

void keep_worse(std::optional<WorstHour>& worst, const std::optional<WorstHour>& other, bool low_is_worse = false) {
  if (other) keep_worse(worst, other->value, other->at, low_is_worse);
}

void keep_stronger(std::optional<WindChange>& strongest, const std::optional<WindChange>& other) {
  if (other && (!strongest || other->wind_kmh > strongest->wind_kmh)) strongest = other;
}

// From one point in one member; hours outside the record are missing.
BurnDay seen_by(const UnitHours& hours, UtcHour first, UtcHour end) {
  BurnDay day;
  double rain = 0;
  bool is_rain_known = false;
  for (UtcHour hour = first; hour < end; hour = hour + 1) {
    if (hour < hours.first || hour >= hours.end()) {
      ++day.missing_hours;
      continue;
    }
    const auto i = static_cast<std::size_t>(hour - hours.first);
    const float ffdi = hours["ffdi"][i], gust = hours["wind_gust"][i], humidity = hours["relative_humidity"][i];
    keep_worse(day.ffdi, ffdi, hour);
    keep_worse(day.gust, gust, hour);
    keep_worse(day.humidity, humidity, hour, true);
    if (std::isnan(ffdi) || std::isnan(gust) || std::isnan(humidity)) ++day.missing_hours;
    const float turn = hours["wind_shift"][i], wind = hours["wind_speed"][i], fallen = hours["precipitation_amount"][i];
    if (is_wind_change(static_cast<double>(turn), static_cast<double>(wind)))
      keep_stronger(day.change, WindChange{turn, wind, hour});
    if (std::isnan(fallen)) continue;
    rain += static_cast<double>(fallen);
    is_rain_known = true;
  }
  if (is_rain_known) day.rain_mm = rain;
  return day;
}

void keep_worst(BurnDay& day, const BurnDay& other) {
  keep_worse(day.ffdi, other.ffdi);
  keep_worse(day.gust, other.gust);
  keep_worse(day.humidity, other.humidity, true);
  keep_stronger(day.change, other.change);
}

// A tail limit as one member has it.
struct TailLimit {
  std::size_t number;
  LimitHours hours;
};

void hold(BurnDay& day, const TailLimit& limit, const UnitClock& clock, int from, int to) {
  const DateHours date = clock.date(day.date);
  if (limit.hours.limit().scope == Scope::night_after)
    std::tie(from, to) = tail_hours(limit.hours.limit(), date, clock, std::max(from, date.begin + kNoon));
  if (from >= to) return;
  const bool is_amount = limit.hours.quantity().nature == Nature::amount;
  const StretchValue value = is_amount ? limit.hours.sum(from, to) : limit.hours.every_hour(from, to);
  if (value.fit == Fit::out) {
    day.tail = TailVerdict::out;
    const bool is_known =
        std::any_of(day.broken.begin(), day.broken.end(), [&](const TailValue& b) { return b.limit == limit.number; });
    if (!is_known) day.broken.push_back({limit.number, static_cast<float>(value.value), clock.hour(value.at)});
  } else if (day.tail != TailVerdict::out) {
    const bool is_unknown = value.fit == Fit::unknown || day.tail == TailVerdict::unknown;
    day.tail = is_unknown ? TailVerdict::unknown : TailVerdict::in;
  }
}

}  // namespace

BurnDay worst_between(std::span<const std::vector<UnitHours>> points, UtcHour first, UtcHour end) {
  BurnDay worst;
  for (const auto& members : points)
    for (const UnitHours& hours : members) {
      const BurnDay seen = seen_by(hours, first, end);
      keep_worst(worst, seen);
      worst.missing_hours = std::max(worst.missing_hours, seen.missing_hours);
      if (seen.rain_mm) worst.rain_mm = std::min(worst.rain_mm.value_or(*seen.rain_mm), *seen.rain_mm);
    }
  return worst;
}

bool is_wind_change(double turn_deg, double wind_kmh) { return turn_deg >= kWindTurn_deg && wind_kmh >= kWind_kmh; }

std::vector<BurnDay> burn_days(const UnitTraits& unit, const Prescription& prescription,
                               std::span<const std::vector<UnitHours>> points, UtcTime now) {
  const UtcHour first = UtcHour::of(now), end = first + 24 * kBurnDaysAhead;
  std::vector<BurnDay> ahead;
  for (LocalDate date = unit.zone.date(first.start()); date <= unit.zone.date((end - 1).start()); date += std::chrono::days(1))
    ahead.emplace_back().date = date;
  if (points.empty()) {
    const bool has_tail = std::any_of(prescription.limits.begin(), prescription.limits.end(), is_tail);
    for (BurnDay& day : ahead) day.tail = has_tail ? TailVerdict::unknown : TailVerdict::none;
    return ahead;
  }

  const UnitHours& record = points.front().front();
  const UnitClock clock(unit, prescription, record.first, record.hours);
  std::vector<TailLimit> limits;
  const auto add_limits = [&](std::span<const std::vector<UnitHours>> all) {
    for (std::size_t m = 0; m < points.front().size() && !all.empty(); ++m) {
      std::vector<const UnitHours*> of_member;
      for (const auto& members : all) of_member.push_back(&members[m < members.size() ? m : 0]);
      for (std::size_t i = 0; i < prescription.limits.size(); ++i)
        if (is_tail(prescription.limits[i]) && is_hazard(prescription.limits[i]))
          limits.push_back({i, LimitHours(prescription.limits[i], prescription, of_member)});
    }
  };
  const ExposedPoints exposed(points, prescription);
  add_limits(points);
  add_limits(exposed.hours());
  for (BurnDay& day : ahead) {
    const DateHours date = clock.date(day.date);
    const int from = std::max(date.begin, first - record.first), to = std::min(date.end, end - record.first);
    day = worst_between(points, clock.hour(from), clock.hour(to));
    day.date = date.date;
    for (const TailLimit& limit : limits) hold(day, limit, clock, from, to);
  }
  return ahead;
}

BurnDay worst_of(const std::vector<BurnDay>& all) {
  BurnDay week;
  for (const BurnDay& day : all) {
    if (&day == &all.front()) week.date = day.date;
    keep_worst(week, day);
    week.missing_hours += day.missing_hours;
    if (day.rain_mm) week.rain_mm = week.rain_mm.value_or(0) + *day.rain_mm;
    week.broken.insert(week.broken.end(), day.broken.begin(), day.broken.end());
    // In the order none, in, unknown, out.
    const auto weight = [](TailVerdict v) {
      return v == TailVerdict::out ? 3 : v == TailVerdict::unknown ? 2 : v == TailVerdict::in;
    };
    if (weight(day.tail) > weight(week.tail)) week.tail = day.tail;
  }
  return week;
}

}  // namespace hakea::core
