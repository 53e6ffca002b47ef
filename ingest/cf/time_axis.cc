#include "ingest/cf/time_axis.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>

#include "core/base/words.h"

namespace hakea::ingest {
namespace {

using std::chrono::sys_days;
using std::chrono::year_month_day;

struct Scanner {
  std::string_view rest;

  void skip_blanks() {
    while (!rest.empty() && std::isspace(static_cast<unsigned char>(rest.front()))) rest.remove_prefix(1);
  }
  bool take(char c) {
    if (rest.empty() || rest.front() != c) return false;
    rest.remove_prefix(1);
    return true;
  }
  bool digit_next() const { return !rest.empty() && std::isdigit(static_cast<unsigned char>(rest.front())); }
  // Digits, at most `most`; -1 when there are none.
  int digits(int most, int* count = nullptr) {
    int value = 0, n = 0;
    for (; n < most && digit_next(); ++n) {
      value = value * 10 + (rest.front() - '0');
      rest.remove_prefix(1);
    }
    if (count) *count = n;
    return n ? value : -1;
  }
};

// Days from 1970-01-01 of a date of the Julian calendar (Fliegel & Van Flandern 1968, Julian form of the day number).
sys_days julian_days(int y, int m, int d) {
  const int a = (14 - m) / 12, yy = y + 4800 - a, mm = m + 12 * a - 3;
  const int day_number = d + (153 * mm + 2) / 5 + 365 * yy + yy / 4 - 32083;
  return sys_days(std::chrono::days(day_number - 2440588));
}

std::optional<sys_days> civil_days(int y, int m, int d, bool mixed_calendar) {
  if (m < 1 || m > 12 || d < 1) return std::nullopt;
  if (mixed_calendar && std::tuple(y, m, d) < std::tuple(1582, 10, 15)) {
    if (std::tuple(y, m, d) > std::tuple(1582, 10, 4)) return std::nullopt;  // dates that never were
    constexpr std::array longest{31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    if (d > longest[static_cast<std::size_t>(m - 1)] || (m == 2 && d == 29 && y % 4 != 0)) return std::nullopt;
    return julian_days(y, m, d);
  }
  const year_month_day date{std::chrono::year(y), std::chrono::month(static_cast<unsigned>(m)),
                            std::chrono::day(static_cast<unsigned>(d))};
  if (!date.ok()) return std::nullopt;
  return sys_days(date);
}

// The zone after a time: Z, UTC, GMT, +10, +10:00, -0330, and the bare "0:00" of some writers. Seconds east of Greenwich.
std::optional<int> zone(Scanner& s) {
  s.skip_blanks();
  if (s.rest.empty()) return 0;
  for (const std::string_view word : {"Z", "z", "UTC", "utc", "GMT"})
    if (s.rest == word) {
      s.rest = {};
      return 0;
    }
  int sign = 1;
  if (s.take('-'))
    sign = -1;
  else
    s.take('+');
  int count = 0;
  int hour = s.digits(4, &count), minute = 0;
  if (hour < 0) return std::nullopt;
  if (count > 2) {
    minute = hour % 100;
    hour /= 100;
  } else if (s.take(':')) {
    minute = s.digits(2);
  }
  s.skip_blanks();
  if (!s.rest.empty() || minute < 0 || minute > 59 || hour > 18) return std::nullopt;
  return sign * (hour * 3600 + minute * 60);
}

double spacing_of_float(double value) {
  const auto f = std::abs(static_cast<float>(value));
  return static_cast<double>(std::nextafter(f, std::numeric_limits<float>::infinity()) - f);
}

UtcTime round_to(double seconds, double step) {
  return UtcTime(std::chrono::seconds(static_cast<std::int64_t>(std::round(seconds / step) * step)));
}

}  // namespace

std::optional<double> seconds_of_unit(std::string_view word) {
  const std::string w = lower(word);
  struct Spelling {
    std::string_view word;
    double seconds;
  };
  static constexpr std::array spellings{Spelling{"d", 86400},
                                        Spelling{"day", 86400},
                                        Spelling{"days", 86400},
                                        Spelling{"h", 3600},
                                        Spelling{"hr", 3600},
                                        Spelling{"hrs", 3600},
                                        Spelling{"hour", 3600},
                                        Spelling{"hours", 3600},
                                        Spelling{"min", 60},
                                        Spelling{"mins", 60},
                                        Spelling{"minute", 60},
                                        Spelling{"minutes", 60},
                                        Spelling{"s", 1},
                                        Spelling{"sec", 1},
                                        Spelling{"secs", 1},
                                        Spelling{"second", 1},
                                        Spelling{"seconds", 1},
                                        Spelling{"week", 604800},
                                        Spelling{"weeks", 604800},
                                        Spelling{"ms", 1e-3},
                                        Spelling{"msec", 1e-3},
                                        Spelling{"millisecond", 1e-3},
                                        Spelling{"milliseconds", 1e-3},
                                        Spelling{"microseconds", 1e-6},
                                        Spelling{"nanoseconds", 1e-9}};
  for (const Spelling& s : spellings)
    if (s.word == w) return s.seconds;
  return std::nullopt;
}

std::optional<UtcTime> parse_instant(std::string_view text, bool mixed_calendar) {
  Scanner s{text};
  s.skip_blanks();
  const bool negative = s.take('-');
  int count = 0, year = 0, month = 1, day = 1;
  year = s.digits(8, &count);
  if (year < 0) return std::nullopt;
  if (count == 8) {
    day = year % 100;
    month = year / 100 % 100;
    year /= 10000;
  } else {
    if (count > 4 || !s.take('-') || (month = s.digits(2)) < 0) return std::nullopt;
    if (s.take('-') && (day = s.digits(2)) < 0) return std::nullopt;
  }
  const auto date = civil_days(negative ? -year : year, month, day, mixed_calendar);
  if (!date) return std::nullopt;

  int hour = 0, minute = 0;
  double second = 0;
  if (s.take('T') || s.take('t') || s.take('_')) {
    if (!s.digit_next()) return std::nullopt;
  } else {
    s.skip_blanks();
  }
  if (s.digit_next()) {
    hour = s.digits(6, &count);
    if (count == 4 || count == 6) {  // hhmm, hhmmss
      if (count == 6) {
        second = hour % 100;
        hour /= 100;
      }
      minute = hour % 100;
      hour /= 100;
    } else if (count > 2) {
      return std::nullopt;
    } else if (s.take(':')) {
      if ((minute = s.digits(2)) < 0) return std::nullopt;
      if (s.take(':')) {
        const int whole = s.digits(2);
        if (whole < 0) return std::nullopt;
        second = whole;
        if (s.take('.'))
          for (double place = 0.1; s.digit_next(); place /= 10) {
            second += place * (s.rest.front() - '0');
            s.rest.remove_prefix(1);
          }
      }
    }
  }
  if (hour > 24 || minute > 59 || second >= 61 || (hour == 24 && (minute > 0 || second > 0))) return std::nullopt;
  const auto offset = zone(s);
  if (!offset) return std::nullopt;
  return UtcTime(*date) + std::chrono::hours(hour) + std::chrono::minutes(minute) +
         std::chrono::seconds(std::lround(second) - *offset);
}

Result<TimeUnit> parse_time_unit(std::string_view units, std::string_view calendar) {
  const auto refuse = [&](std::string code, std::string what, std::string hint) {
    return Error{ErrorKind::invalid, std::move(code), "time", std::move(what), std::move(hint)};
  };
  static constexpr std::string_view kExample = "write it as \"hours since 2026-01-31 00:00:00\"";
  const std::string c = lower(trimmed(calendar));
  TimeUnit unit;
  if (c.empty() || c == "standard" || c == "gregorian")
    unit.mixed_calendar = true;
  else if (c != "proleptic_gregorian")
    return refuse("calendar", fmt::format("uses the calendar \"{}\"", calendar),
                  "a weather feed uses the calendar standard, gregorian or proleptic_gregorian");

  Scanner s{units};
  s.skip_blanks();
  const auto blank = s.rest.find_first_of(" \t");
  if (blank == std::string_view::npos)
    return refuse("not_a_time_unit", fmt::format("has the unit \"{}\", which names no date", units), std::string(kExample));
  const std::string_view word = s.rest.substr(0, blank);
  s.rest.remove_prefix(blank);
  s.skip_blanks();
  std::string_view since;
  for (const std::string_view w : {"since", "Since", "SINCE", "after", "from", "ref", "@"})
    if (s.rest.starts_with(w)) {
      since = w;
      break;
    }
  if (since.empty())
    return refuse("not_a_time_unit", fmt::format("has the unit \"{}\", which names no date", units), std::string(kExample));
  s.rest.remove_prefix(since.size());
  const auto seconds = seconds_of_unit(word);
  if (!seconds)
    return refuse("unknown_unit", fmt::format("counts in \"{}\", which is no fixed length of time", word),
                  "accepted: days, hours, minutes, seconds");
  unit.seconds = *seconds;
  const auto epoch = parse_instant(s.rest, unit.mixed_calendar);
  if (!epoch)
    return refuse("bad_date", fmt::format("counts from \"{}\", which is no date and time", s.rest), std::string(kExample));
  unit.epoch = *epoch;
  return unit;
}

std::vector<std::optional<UtcTime>> decode_times(const std::vector<double>& numbers, const TimeUnit& unit,
                                                 bool single_precision) {
  std::vector<std::optional<UtcTime>> times;
  times.reserve(numbers.size());
  const auto epoch = static_cast<double>(unit.epoch.time_since_epoch().count());
  for (const double number : numbers) {
    const double elapsed = number * unit.seconds;
    if (!std::isfinite(elapsed) || std::abs(elapsed) > 4e11) {
      times.emplace_back();
      continue;
    }
    double step = 1;
    if (single_precision) {
      const double spacing = spacing_of_float(number) * unit.seconds;
      for (const double coarser : {60.0, 600.0, 1800.0, 3600.0})
        if (spacing > step) step = coarser;
    }
    UtcTime t = round_to(epoch + elapsed, step);
    if (step == 1 && unit.seconds != 1) {  // fractions of days that fell a second short of the minute
      const UtcTime minute = round_to(static_cast<double>(t.time_since_epoch().count()), 60);
      if (std::abs((t - minute).count()) <= 1 && elapsed != std::round(elapsed)) t = minute;
    }
    times.emplace_back(t);
  }
  return times;
}

std::string utc_text(UtcTime t) {
  const auto date = std::chrono::floor<std::chrono::days>(t);
  const year_month_day ymd(date);
  const std::chrono::hh_mm_ss clock(t - date);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z", static_cast<int>(ymd.year()), static_cast<unsigned>(ymd.month()),
                     static_cast<unsigned>(ymd.day()), clock.hours().count(), clock.minutes().count(), clock.seconds().count());
}

}  // namespace hakea::ingest
