#include "core/wetness/codes.h"

#include <algorithm>
#include <cmath>

#include "core/base/numbers.h"
#include "core/wetness/advance.h"
#include "core/wetness/canadian.h"

namespace hakea::core {
namespace {

using std::chrono::days;

enum : std::size_t { kFfmc, kDmc, kDc, kIsi, kBui, kFwi };

struct Noon {
  NoonWeather weather;
  SeasonAndPlace when;
  int rain_gap_h = 0;
  std::array<Reason, 3> lacks{};  // of the weather that each code needs
};

One step(std::size_t code, One before, const Noon& noon) {
  if (code == kFfmc) return ffmc_step(before, noon.weather);
  return code == kDmc ? dmc_step(before, noon.weather, noon.when) : dc_step(before, noon.weather, noon.when);
}

struct Code {
  double value = kNaN;
  int gap_days = 0;
  bool is_reading = false;
  Reason lacks = Reason::none;

  Reason why_missing() const {
    if (lacks != Reason::none) return lacks;
    if (std::isnan(value)) return Reason::no_state;
    return gap_days > kMostGapDays ? Reason::gap : Reason::none;
  }
  void enter(double v) { *this = {v, 0, true, Reason::none}; }
};

class Codes {
 public:
  std::array<Code, 3> code;
  double wind_at_noon = kNaN;

  void take(const WetnessState& state) {
    const std::array<double, 3> values{state.ffmc.value(), state.dmc.value(), state.dc.value()};
    const CodesHandedOn& more = state.codes;
    for (std::size_t c = 0; c < 3; ++c) {
      if (std::isnan(values[c])) continue;
      code[c] = {values[c], more.gap_days[c], more.is_reading[c] != 0, static_cast<Reason>(more.why_missing[c])};
    }
    if (more.noons_ago == 0) return;
    wind_at_noon = more.wind_at_noon_kmh;
    run_up_ = more.run_up;
    run_up_days_ = more.run_up_days;
  }

  void hand_on(WetnessState& state) const {
    state.ffmc = One(code[kFfmc].value);
    state.dmc = One(code[kDmc].value);
    state.dc = One(code[kDc].value);
    CodesHandedOn& more = state.codes;
    more.noons_ago = 1;
    more.wind_at_noon_kmh = wind_at_noon;
    for (std::size_t c = 0; c < 3; ++c) {
      more.gap_days[c] = code[c].gap_days;
      more.is_reading[c] = code[c].is_reading ? 1 : 0;
      more.why_missing[c] = static_cast<int>(code[c].lacks);
    }
    more.run_up = run_up_;
    more.run_up_days = run_up_days_;
  }

  void advance(const Noon& noon) {
    wind_at_noon = noon.weather.wind_speed.value();
    for (std::size_t c = 0; c < 3; ++c) {
      Code& now = code[c];
      if (std::isnan(now.value)) continue;
      now.is_reading = false;
      now.lacks = noon.lacks[c];
      const bool is_whole = noon.rain_gap_h == 0 && now.lacks == Reason::none;
      if (now.lacks == Reason::none) now.value = step(c, One(now.value), noon).value();
      if (!is_whole)
        ++now.gap_days;
      else if (c == kFfmc && now.gap_days > 0)
        --now.gap_days;
    }
    run_up(noon);
  }

 private:
  void run_up(const Noon& noon) {
    const auto is_unknown = [](const Code& c) { return std::isnan(c.value); };
    if (std::none_of(code.begin(), code.end(), is_unknown)) return;
    if (noon.rain_gap_h > 0 || noon.lacks[kFfmc] != Reason::none) {
      run_up_days_ = 0;
      return;
    }
    if (run_up_days_ == 0) run_up_ = {kFirstFfmc, kFirstDmc, kFirstDc};
    for (std::size_t c = 0; c < 3; ++c) run_up_[c] = step(c, One(run_up_[c]), noon).value();
    if (++run_up_days_ < kRunUpDays) return;
    for (std::size_t c = 0; c < 3; ++c)
      if (is_unknown(code[c])) code[c] = {run_up_[c], 0, false, Reason::none};
  }

  std::array<double, 3> run_up_{};
  int run_up_days_ = 0;
};

// Walks the hours of a record with the codes as they stand.
class Walk {
 public:
  explicit Walk(const CodeRecord& record) : record_(record) {
    const TimeZone& zone = *record.zone;
    const UtcTime begin = record.first.start();
    const LocalTime clock(begin.time_since_epoch() + zone.standard_offset_at(begin));
    next_date_ = std::chrono::floor<days>(clock) - days(1);
    while (noon(next_date_) < record.first) next_date_ += days(1);
    rain_begins_ = record.first;
    rain_gap_h_ = std::max(record.first - noon(next_date_ - days(1)), 0);
    next_noon_ = noon(next_date_);
    if (const WetnessState* state = state_before()) begin_with(*state);
  }

  // To the start of hour i; whether it is noon.
  bool reach(std::size_t i) {
    if (record_.first + static_cast<int>(i) != next_noon_) return false;
    codes.advance(weather_at(i));
    if (const WetnessState* state = state_before(); state && next_date_ == noon_of(*state)) codes.take(*state);
    next_date_ += days(1);
    next_noon_ = noon(next_date_);
    rain_mm_ = 0;
    rain_gap_h_ = 0;
    return true;
  }

  // The rain of hour i.
  void pass(std::size_t i) {
    const UtcHour hour = record_.first + static_cast<int>(i);
    if (hour < rain_begins_) return;
    if (record_.rain->is_missing(i))
      ++rain_gap_h_;
    else
      rain_mm_ += static_cast<double>((*record_.rain)[i]);
  }

  void hand_on(WetnessState& after) const {
    const WetnessState* state = state_before();
    const bool has_code = state && !(state->ffmc.is_missing() && state->dmc.is_missing() && state->dc.is_missing());
    if (has_code && state->as_of == after.as_of && state->codes.noons_ago == 0) {  // of the noon still to come
      after.ffmc = state->ffmc;
      after.dmc = state->dmc;
      after.dc = state->dc;
      return;
    }
    codes.hand_on(after);
    after.codes.rain_since_noon_mm = rain_mm_;
    after.codes.rain_gap_h = rain_gap_h_;
  }

  Codes codes;

 private:
  static LocalDate noon_of(const WetnessState& state) { return state.as_of - days(state.codes.noons_ago); }

  const WetnessState* state_before() const { return record_.before && *record_.before ? &**record_.before : nullptr; }
  UtcHour noon(LocalDate date) const { return first_hour_from(record_.zone->standard_instant(date, std::chrono::hours(12))); }

  void begin_with(const WetnessState& state) {
    const LocalDate last = noon_of(state);
    if (last >= next_date_) return;  // comes within the record
    codes.take(state);
    for (LocalDate d = last + days(1); d < next_date_; d += days(1)) {
      Noon nothing;
      nothing.weather.rain = Millimetres(0);
      nothing.rain_gap_h = 24;
      nothing.lacks.fill(Reason::gap);
      codes.advance(nothing);
    }
    if (last != next_date_ - days(1) || state.codes.noons_ago == 0) return;
    // The rain up to 09:00 is known; the record goes on from there.
    const UtcHour nine = first_hour_from(record_.zone->rain_day_end(state.as_of));
    rain_mm_ = state.codes.rain_since_noon_mm;
    rain_gap_h_ = state.codes.rain_gap_h + std::max(record_.first - nine, 0);
    rain_begins_ = std::max(record_.first, nine);
  }

  Noon weather_at(std::size_t i) const {
    Noon now;
    now.when = {static_cast<unsigned>(std::chrono::year_month_day(next_date_).month()), record_.latitude_deg};
    now.rain_gap_h = rain_gap_h_;
    now.weather.rain = Millimetres(rain_mm_);
    const Column &air = *record_.air_temperature, &humidity = *record_.relative_humidity, &wind = *record_.wind_speed;
    now.weather.air = {Celsius(static_cast<double>(air[i])), Percent(static_cast<double>(humidity[i]))};
    now.weather.wind_speed = KilometresPerHour(static_cast<double>(wind[i]));
    now.lacks[kDc] = air.why(i);
    now.lacks[kDmc] = air.is_missing(i) ? air.why(i) : humidity.why(i);
    now.lacks[kFfmc] = now.lacks[kDmc] != Reason::none ? now.lacks[kDmc] : wind.why(i);
    return now;
  }

  const CodeRecord& record_;
  LocalDate next_date_{};
  UtcHour next_noon_, rain_begins_;
  double rain_mm_ = 0;  // since the last noon
  int rain_gap_h_ = 0;
};

bool enter_readings(const CodeRecord& record, std::size_t i, Codes& codes) {
  bool is_new = false;
  for (std::size_t c = 0; c < 3; ++c)
    if (record.readings[c] && !record.readings[c]->is_missing(i)) {
      codes.code[c].enter(static_cast<double>((*record.readings[c])[i]));
      is_new = true;
    }
  return is_new;
}

// A code or index as it is shown.
struct Shown {
  double value = kNaN;
  std::uint8_t flags = 0;
  Reason why = Reason::none;

  void put(Column& out, std::size_t i) const {
    if (why == Reason::none)
      out.set(i, value, flags);
    else
      out.set_missing(i, why);
  }
};

Shown shown(const Code& code) {
  const auto flags = static_cast<std::uint8_t>((code.gap_days > 0 ? flag::kSpinUp : 0) | (code.is_reading ? flag::kReading : 0));
  return {code.value, flags, code.why_missing()};
}

Shown of_two(const Shown& a, const Shown& b, One (*index)(One, One)) {
  if (a.why != Reason::none) return {kNaN, 0, a.why};
  if (b.why != Reason::none) return {kNaN, 0, b.why};
  return {index(One(a.value), One(b.value)).value(), static_cast<std::uint8_t>((a.flags | b.flags) & flag::kSpinUp),
          Reason::none};
}

}  // namespace

void canadian_codes(const CodeRecord& record, CodeColumns out) {
  Walk walk(record);
  const std::array<Column*, 6> columns{out.ffmc, out.dmc, out.dc, out.isi, out.bui, out.fwi};
  std::array<double, 3> read{kNaN, kNaN, kNaN};  // indices that stand as they were read
  std::array<Shown, 6> now;
  for (std::size_t i = 0; i < record.rain->size(); ++i) {
    const bool is_noon = walk.reach(i);
    if (is_noon) read.fill(kNaN);
    bool is_new = enter_readings(record, i, walk.codes) || is_noon || i == 0;
    for (std::size_t k = kIsi; k <= kFwi; ++k)
      if (record.readings[k] && !record.readings[k]->is_missing(i)) {
        read[k - kIsi] = static_cast<double>((*record.readings[k])[i]);
        is_new = true;
      }
    if (is_new) {
      for (std::size_t c = 0; c < 3; ++c) now[c] = shown(walk.codes.code[c]);
      const auto as_read = [&](std::size_t k, const Shown& computed) {
        return std::isnan(read[k - kIsi]) ? computed : Shown{read[k - kIsi], flag::kReading, Reason::none};
      };
      const double wind = walk.codes.wind_at_noon;
      Shown isi{initial_spread_index(One(now[kFfmc].value), KilometresPerHour(wind)).value(), now[kFfmc].flags, now[kFfmc].why};
      isi.flags = static_cast<std::uint8_t>(isi.flags & flag::kSpinUp);
      if (isi.why == Reason::none && std::isnan(wind)) isi.why = Reason::gap;
      now[kIsi] = as_read(kIsi, isi);
      now[kBui] = as_read(kBui, of_two(now[kDmc], now[kDc], build_up_index));
      now[kFwi] = as_read(kFwi, of_two(now[kIsi], now[kBui], fire_weather_index));
    }
    for (std::size_t k = 0; k < columns.size(); ++k) now[k].put(*columns[k], i);
    walk.pass(i);
  }
}

void hand_on_codes(const CodeRecord& record, WetnessState& after) {
  Walk walk(record);
  const UtcHour until = first_hour_from(record.zone->rain_day_end(after.as_of));
  for (std::size_t i = 0; i < record.rain->size() && record.first + static_cast<int>(i) < until; ++i) {
    walk.reach(i);
    enter_readings(record, i, walk.codes);
    walk.pass(i);
  }
  walk.hand_on(after);
}

}  // namespace hakea::core
