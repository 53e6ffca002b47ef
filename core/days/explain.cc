#include "core/days/explain.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>

#include "core/prescription/scopes.h"

namespace hakea::core {
namespace {

constexpr std::array<std::string_view, 7> kWeekdays{"Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"};
constexpr std::array<std::string_view, 12> kMonths{"January", "February", "March",     "April",   "May",      "June",
                                                   "July",    "August",   "September", "October", "November", "December"};
constexpr std::array<std::string_view, 13> kNumbers{"no",    "one",   "two",  "three", "four",   "five",  "six",
                                                    "seven", "eight", "nine", "ten",   "eleven", "twelve"};

// Whether a limit forbids hour h as part of a span; unknown counts only where one must be sure.
std::optional<WindowEdge> span_edge(const Record& record, int hour, Certainty certainty) {
  std::optional<WindowEdge> missing;
  for (std::size_t i = 0; i < record.limits().size(); ++i) {
    const LimitHours& limit = record.limits()[i];
    if (limit.limit().kind == Kind::preference || limit.limit().scope != Scope::each_hour || is_asked_of_stretch(limit.limit()))
      continue;
    if (limit.fit(hour) == Fit::out)
      return WindowEdge{.by = Edge::limit, .limit = i, .value = static_cast<float>(limit.value(hour)), .why = {}};
    if (limit.fit(hour) == Fit::unknown && certainty == Certainty::known)
      missing = WindowEdge{.by = Edge::missing, .limit = i, .value = {}, .why = limit.why(hour)};
  }
  return missing;
}

std::optional<WindowEdge> edge_of(std::size_t i, const StretchValue& value, Certainty certainty) {
  const auto shown = std::isnan(value.value) ? std::nullopt : std::optional(static_cast<float>(value.value));
  if (value.fit == Fit::out) return WindowEdge{.by = Edge::limit, .limit = i, .value = shown, .why = {}};
  if (value.fit == Fit::unknown && certainty == Certainty::known)
    return WindowEdge{.by = Edge::missing, .limit = i, .value = {}, .why = value.why};
  return std::nullopt;
}

// The first hard or stop limit that `value_of` finds not kept.
template <class ValueOf>
std::optional<WindowEdge> first_broken(const Record& record, Certainty certainty, ValueOf value_of) {
  for (std::size_t i = 0; i < record.limits().size(); ++i) {
    const LimitHours& limit = record.limits()[i];
    if (limit.limit().kind == Kind::preference) continue;
    if (const std::optional<StretchValue> value = value_of(limit))
      if (const auto edge = edge_of(i, *value, certainty)) return edge;
  }
  return std::nullopt;
}

std::string two_digits(long n) { return (n < 10 ? "0" : "") + std::to_string(n); }

std::string clock_text(const TimeZone& zone, UtcTime t) {
  const auto since_midnight = zone.local(t) - std::chrono::floor<std::chrono::days>(zone.local(t));
  const auto minutes = std::chrono::duration_cast<std::chrono::minutes>(since_midnight).count();
  return two_digits(minutes / 60) + ":" + two_digits(minutes % 60);
}

std::string hours_text(int hours) {
  const std::string number =
      hours < static_cast<int>(kNumbers.size()) ? std::string(kNumbers[static_cast<std::size_t>(hours)]) : std::to_string(hours);
  return number + (hours == 1 ? " hour" : " hours");
}

std::string bound_text(const LimitHours& limit, std::optional<float> value) {
  const Range& range = limit.limit().acceptable;
  if (!limit.limit().sectors.empty()) return "the permitted directions";
  const std::optional<Bound>* bound = &range.upper;
  if (!range.upper ||
      (range.lower && value && static_cast<double>(*value) < range.lower->value + (range.upper->value - range.lower->value) / 2))
    bound = &range.lower;
  return *bound ? with_unit((*bound)->value, limit.quantity().unit) : std::string("its limit");
}

bool is_too_high(const LimitHours& limit, std::optional<float> value) {
  const auto& upper = limit.limit().acceptable.upper;
  return value && upper && static_cast<double>(*value) >= static_cast<double>(static_cast<float>(upper->value));
}

// A quantity of a limit as it is called on this day.
std::string title_of(const LimitHours& limit, const Day& day) {
  return with_standing(lower_title(limit.quantity()), limit.limit().quantity, day);
}

std::string unknown_text(const Record& record, const WindowEdge& edge, const Day& day, std::string_view what) {
  std::string text = std::string(what) + " is unknown";
  if (edge.limit < record.limits().size() && edge.why == Reason::out_of_domain)
    text += ": " + title_of(record.limits()[edge.limit], day) + " is outside its model's domain";
  return text;
}

// "the wind veers onshore to 95°, outside the permitted directions": how it turns in the hour that ends a window. The sea lies
// where the unit says; onshore is what comes from the half circle around it.
std::string leaving_text(const LimitHours& limit, int hour, const UnitTraits& unit) {
  std::string text = limit.quantity().key == "smoke_bearing"                   ? "the smoke"
                     : limit.quantity().key == "transport_wind_from_direction" ? "the transport wind"
                                                                               : "the wind";
  if (hour <= 0 || limit.fit(hour) != Fit::out) return text + " leaves the permitted directions";
  if (std::isnan(limit.margin(hour).own)) return text + " is too light to hold a direction";
  const double before = limit.value(hour - 1), after = limit.value(hour), turn = std::remainder(after - before, 360.0);
  const auto is_onshore = [&](double direction) {
    return unit.sea_bearing_deg && limit.quantity().key == "wind_from_direction" &&
           std::abs(std::remainder(direction - *unit.sea_bearing_deg, 360.0)) <= 90;
  };
  if (std::isnan(turn) || turn == 0) return text + " leaves the permitted directions";
  text += turn > 0 ? " veers" : " backs";
  if (is_onshore(after) && !is_onshore(before)) text += " onshore";
  return text + " to " + with_unit(after, "deg") + ", outside the permitted directions";
}

std::string opening_text(const Record& record, const WindowEdge& edge, const Day& day) {
  switch (edge.by) {
    case Edge::within: return "opens with the light-up hours";
    case Edge::now: return "open now";
    case Edge::missing: return unknown_text(record, edge, day, "what comes before");
    case Edge::limit: {
      const LimitHours& limit = record.limits()[edge.limit];
      const std::string title = title_of(limit, day);
      if (!limit.limit().sectors.empty()) return "opens when the wind comes from a permitted direction";
      if (!edge.value) return "opens when " + title + " comes within its limit";
      return "opens when " + title + (is_too_high(limit, edge.value) ? " falls to " : " rises to ") +
             bound_text(limit, edge.value);
    }
    default: return "";
  }
}

std::string closing_text(const Record& record, const Window& window, const UnitTraits& unit, const Day& day) {
  const WindowEdge& edge = window.closes;
  switch (edge.by) {
    case Edge::within: return "ends with the light-up hours";
    case Edge::horizon: return "still open at the end of the forecast";
    case Edge::missing: return unknown_text(record, edge, day, "what comes after");
    case Edge::limit: {
      const LimitHours& limit = record.limits()[edge.limit];
      const std::string title = title_of(limit, day);
      if (!limit.limit().sectors.empty()) return "closes when " + leaving_text(limit, window.end - record.clock().first(), unit);
      if (!edge.value) return "closes when " + title + " passes its limit";
      return "closes when " + title + (is_too_high(limit, edge.value) ? " passes " : " falls below ") +
             bound_text(limit, edge.value);
    }
    default: return "";
  }
}

std::string limiting_text(const Record& record, const Limiting& limiting, const Day& day) {
  const LimitHours& limit = record.limits()[limiting.limit];
  std::string text = title_of(limit, day) + scope_text(limit.limit());
  if (!limit.limit().sectors.empty() && limiting.value && !limiting.margin)
    return "the wind is too light to hold a direction, " + needs_text(limit.limit());
  const bool is_doubtful = is_out_of_domain(limit.limit().quantity, day) && !(limiting.margin && *limiting.margin < 0);
  if (limiting.value) text += " is " + with_unit(static_cast<double>(*limiting.value), limit.quantity().unit);
  if (is_doubtful) text += limiting.value ? ", outside its model's domain" : " is outside its model's domain";
  if (limiting.over_points && limiting.over_points->first < limiting.over_points->second)
    text += " (" + in_words(static_cast<double>(limiting.over_points->first)) + " to " +
            with_unit(static_cast<double>(limiting.over_points->second), limit.quantity().unit) + " over its points)";
  if (!limiting.value && !is_doubtful) {
    text += " is unknown";
    if (is_missing_for(limit.limit().quantity, Reason::no_state, day))
      text += ": no value was entered, and its record is too short to find one";
  }
  return text + ", " + needs_text(limit.limit());
}

// "met, night smoke limit not met: wind speed in the night after is 2 km/h, needs at least 5 km/h; before such a night an end by
// 16:00 is advised".
std::string night_smoke_text(const Record& record, const NightSmoke& night, const UnitTraits& unit, const Day& day) {
  const LimitHours& limit = record.limits()[night.limit];
  std::string text = std::string(day.weather == Verdict::met ? "met, " : "") +
                     "night smoke limit not met: " + title_of(limit, day) + scope_text(limit.limit());
  text += night.value ? " is " + with_unit(static_cast<double>(*night.value), limit.quantity().unit) : std::string(" is outside");
  text += ", " + needs_text(limit.limit());
  if (night.finish_by) text += "; before such a night an end by " + clock_text(unit.zone, *night.finish_by) + " is advised";
  return text;
}

}  // namespace

bool is_missing_for(std::size_t quantity, Reason reason, const Day& day) {
  return std::any_of(day.missing.begin(), day.missing.end(),
                     [&](const MissingInput& m) { return m.quantity == quantity && m.reason == reason; });
}

std::string with_standing(std::string name, std::size_t quantity, const Day& day) {
  const auto is_among = [&](const std::vector<std::size_t>& all) {
    return std::find(all.begin(), all.end(), quantity) != all.end();
  };
  if (is_among(day.provisional)) name += " (provisional model)";
  if (is_among(day.spin_up)) name += " (spin-up)";
  return name;
}

bool is_out_of_domain(std::size_t quantity, const Day& day) { return is_missing_for(quantity, Reason::out_of_domain, day); }

std::string scope_text(const Limit& limit) {
  switch (limit.scope) {
    case Scope::at_start: return " at the start";
    case Scope::window_mean: return " on average";
    case Scope::window_min: return " at its lowest";
    case Scope::window_max: return " at its highest";
    case Scope::before: return " beforehand";
    case Scope::same_day: return " on that date";
    case Scope::night_after: return " in the night after";
    case Scope::days_after: return " in the days after";
    default: return "";
  }
}

std::string unknown_tail_text(const Prescription& prescription, const Day& day) {
  std::string gap;
  for (const Limit& limit : prescription.limits) {
    if (!is_tail(limit) || limit.kind == Kind::preference) continue;
    if (is_missing_for(limit.quantity, Reason::beyond_horizon, day)) return "tail reaches beyond the forecast";
    const bool is_missing =
        std::any_of(day.missing.begin(), day.missing.end(), [&](const MissingInput& m) { return m.quantity == limit.quantity; });
    if (gap.empty() && is_missing)
      gap = "tail is unknown: not all of its " + lower_title(catalogue()[limit.quantity]) + " is known";
  }
  return gap.empty() ? "tail is unknown" : gap;
}

// Names such as Keetch-Byram keep their capital.
std::string lower_title(const QuantityRow& quantity) {
  std::string title(quantity.title);
  const std::size_t hyphen = title.find('-');
  const bool is_name =
      hyphen != std::string::npos && hyphen + 1 < title.find(' ') && std::isupper(static_cast<unsigned char>(title[hyphen + 1]));
  if (!is_name && !title.empty()) title[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(title[0])));
  return title;
}

std::string needs_text(const Limit& limit) {
  if (!limit.sectors.empty()) {
    std::string text;
    for (const Sector& s : limit.sectors)
      text += (text.empty() ? "needs " : " or ") + with_unit(s.from, "deg") + " to " + with_unit(s.to, "deg");
    return text;
  }
  const Range& range = limit.acceptable;
  const std::string_view unit = catalogue()[limit.quantity].unit;
  if (range.lower && range.upper) return "needs " + in_words(range.lower->value) + " to " + with_unit(range.upper->value, unit);
  if (range.lower) return (range.lower->open ? "needs more than " : "needs at least ") + with_unit(range.lower->value, unit);
  return (range.upper->open ? "needs less than " : "needs at most ") + with_unit(range.upper->value, unit);
}

std::string weekday_in_words(LocalDate date) { return std::string(kWeekdays[std::chrono::weekday(date).c_encoding()]); }

std::string date_in_words(LocalDate date) {
  const std::chrono::year_month_day day(date);
  return weekday_in_words(date) + " " + std::to_string(static_cast<unsigned>(day.day())) + " " +
         std::string(kMonths[static_cast<unsigned>(day.month()) - 1]);
}

std::string iso_date(LocalDate date) {
  const std::chrono::year_month_day day(date);
  return std::to_string(static_cast<int>(day.year())) + "-" + two_digits(static_cast<unsigned>(day.month())) + "-" +
         two_digits(static_cast<unsigned>(day.day()));
}

std::string in_words(double value) {
  const double rounded = std::abs(value) >= 100 ? std::round(value) : std::round(value * 10) / 10;
  if (rounded == std::floor(rounded)) return std::to_string(static_cast<long>(rounded));
  const long tenths = std::lround(rounded * 10);
  return (tenths < 0 ? "-" : "") + std::to_string(std::abs(tenths) / 10) + "." + std::to_string(std::abs(tenths) % 10);
}

std::string with_unit(double value, std::string_view unit) {
  if (unit == "1") return in_words(value);
  const std::string_view shown = unit == "Cel" ? "°C" : unit == "m2/s" ? "m²/s" : unit == "W/m2" ? "W/m²" : unit;
  return in_words(value) + (unit == "deg" ? "°" : " " + std::string(shown));
}

WindowEdge what_opens(const Record& record, const Judge& judge, Stretch stretch, Certainty certainty) {
  const DateHours& date = judge.first().date;
  const int begin = date.within_begin + stretch.begin, end = date.within_begin + stretch.end;
  if (begin <= date.within_begin) return {.by = Edge::within, .limit = kNoLimit, .value = {}, .why = {}};
  if (begin <= record.now_index()) return {.by = Edge::now, .limit = kNoLimit, .value = {}, .why = {}};
  const int before = begin - 1;
  if (before < 0) return {.by = Edge::missing, .limit = kNoLimit, .value = {}, .why = {}};
  if (const auto edge = span_edge(record, before, certainty)) return *edge;
  const auto at_start = first_broken(record, certainty, [&](const LimitHours& l) -> std::optional<StretchValue> {
    if (l.limit().scope != Scope::at_start && l.limit().scope != Scope::before) return std::nullopt;
    return start_value(l, date, record.clock(), before);
  });
  if (at_start) return *at_start;
  const auto of_window = first_broken(record, certainty, [&](const LimitHours& l) -> std::optional<StretchValue> {
    if (!is_asked_of_stretch(l.limit())) return std::nullopt;
    return window_value(l, before, end);
  });
  return of_window.value_or(WindowEdge{.by = Edge::within, .limit = kNoLimit, .value = {}, .why = {}});
}

WindowEdge what_closes(const Record& record, const Judge& judge, Stretch stretch, Certainty certainty) {
  const DateHours& date = judge.first().date;
  const int begin = date.within_begin + stretch.begin, end = date.within_begin + stretch.end;
  if (end >= date.within_end) return {.by = Edge::within, .limit = kNoLimit, .value = {}, .why = {}};
  if (end >= record.hours()) return {.by = Edge::horizon, .limit = kNoLimit, .value = {}, .why = {}};
  if (const auto edge = span_edge(record, end, certainty)) return *edge;
  const auto after = first_broken(record, certainty, [&](const LimitHours& l) -> std::optional<StretchValue> {
    if (l.limit().scope != Scope::each_hour || l.limit().hours_after == 0 || is_asked_of_stretch(l.limit())) return std::nullopt;
    return l.every_hour(end + 1, end + 1 + l.limit().hours_after);
  });
  if (after) return *after;
  const auto of_window = first_broken(record, certainty, [&](const LimitHours& l) -> std::optional<StretchValue> {
    if (!is_asked_of_stretch(l.limit())) return std::nullopt;
    return window_value(l, begin, end + 1);
  });
  return of_window.value_or(WindowEdge{.by = Edge::within, .limit = kNoLimit, .value = {}, .why = {}});
}

std::string why(const Record& record, const UnitTraits& unit, const Day& day) {
  std::string text = weekday_in_words(day.date);
  if (record.limits().empty()) return text + ": the prescription has no limits";
  const Window* shown = !day.windows.empty() ? &day.windows.front() : day.short_stretch ? &*day.short_stretch : nullptr;
  if (shown) {
    const Window& w = *shown;
    text +=
        " " + clock_text(unit.zone, w.start.start()) + "–" + clock_text(unit.zone, w.end.start()) + ", " + hours_text(w.hours());
    if (w.unconfirmed) text += " unconfirmed";
    if (day.windows.empty()) text += ", too short by " + hours_text(record.duration() - w.hours());
    if (const std::string opens = opening_text(record, w.opens, day); !opens.empty()) text += "; " + opens;
    if (const std::string closes = closing_text(record, w, unit, day); !closes.empty()) text += "; " + closes;
  } else {
    text += ": no window";
  }
  if (day.night_smoke) text += "; " + night_smoke_text(record, *day.night_smoke, unit, day);
  const bool is_said = day.night_smoke && day.limiting && day.limiting->limit == day.night_smoke->limit;
  if (day.weather != Verdict::met && day.limiting && !is_said) text += "; " + limiting_text(record, *day.limiting, day);
  if (day.weather == Verdict::met && day.tail.beyond) {
    const LimitHours& limit = record.limits()[day.tail.beyond->limit];
    text += "; beyond the tail " + title_of(limit, day) + " reaches " + in_words(static_cast<double>(day.tail.beyond->value)) +
            " on " + weekday_in_words(unit.zone.date(day.tail.beyond->at.start()));
  }
  if (day.tail.verdict == TailVerdict::unknown) text += "; the " + unknown_tail_text(record.prescription(), day);
  return text;
}

}  // namespace hakea::core
