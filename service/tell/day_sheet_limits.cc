// The numbers of the unit day sheet: hour by hour, and limit by limit with what is measured on the ground.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/days/explain.h"
#include "core/prescription/scopes.h"
#include "service/output/time_text.h"
#include "service/tell/day_sheet_parts.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

using std::chrono::days;

constexpr int kFirstClockHour = 6, kMorningHours = 10, kMorningStep = 3, kHoursAfterWindow = 3;
constexpr std::string_view kMissing = "–";

struct ColumnOfSheet {
  std::string_view key, name;
  int decimals;
  bool only_if_limited = false;
};
constexpr std::array kColumns{
    ColumnOfSheet{"air_temperature", "Air", 1},
    ColumnOfSheet{"relative_humidity", "RH", 0},
    ColumnOfSheet{"wind_speed", "Wind 10 m", 1},
    ColumnOfSheet{"wind_gust", "Gust", 0},
    ColumnOfSheet{"wind_from_direction", "From", 0},
    ColumnOfSheet{"in_forest_wind_speed", "In forest", 1},
    ColumnOfSheet{"litter_moisture", "Moisture", 1},
    ColumnOfSheet{"litter_moisture_sheltered", "Sheltered", 1},
    ColumnOfSheet{"ffdi", "Calc. FFDI", 1},
    ColumnOfSheet{"gfdi", "Calc. GFDI", 1, true},
    ColumnOfSheet{"mixing_height", "Mixing", 0},
    ColumnOfSheet{"transport_wind_speed", "Transport", 0},
    ColumnOfSheet{"ventilation_index", "Ventilation", 0},
};

// What people measure or see at the fire's edge.
constexpr std::array<std::string_view, 13> kMeasured{
    "air_temperature",     "relative_humidity",    "wind_speed",      "wind_gust",
    "wind_from_direction", "in_forest_wind_speed", "litter_moisture", "litter_moisture_sheltered",
    "grass_moisture",      "heath_moisture",       "flame_height",    "flame_length",
    "rate_of_spread"};
constexpr std::array<std::string_view, 5> kBehaviour{"flame_height", "flame_length", "rate_of_spread", "fireline_intensity",
                                                     "scorch_height"};

std::string unit_text(std::string_view unit) {
  if (unit == "1") return "";
  return std::string(unit == "Cel" ? "°C" : unit == "deg" ? "°" : unit == "m2/s" ? "m²/s" : unit);
}

double rounded(double value, int decimals) {
  const double scale = std::pow(10, decimals);
  const double result = std::round(value * scale) / scale;
  return result == 0 ? 0 : result;  // no "-0"
}

// As few decimals as asked for, or as many more as it takes to stand on the same side of the limits as the value.
std::string shown(double value, int decimals, const std::vector<const core::Limit*>& limits) {
  const auto is_told_rightly = [&](double told) {
    return std::all_of(limits.begin(), limits.end(), [&](const core::Limit* limit) {
      const auto fit = [&](double v) {
        constexpr float kWind = 1000;  // of any direction
        return limit->sectors.empty() ? core::range_fit(limit->acceptable, core::Possible::exactly(v))
                                      : core::sector_fit(limit->sectors, static_cast<float>(v), kWind, 0);
      };
      return fit(told) == fit(value);
    });
  };
  int used = decimals;
  // As float32, like the value that decided.
  while (used < decimals + 3 && !is_told_rightly(static_cast<double>(static_cast<float>(rounded(value, used))))) ++used;
  return fmt::format("{:.{}f}", rounded(value, used), used);
}

// Those that the hours of a quantity are held against, whose failing ends a window.
std::vector<const core::Limit*> hourly_limits(const core::Prescription& prescription, std::size_t quantity) {
  std::vector<const core::Limit*> found;
  for (const core::Limit& limit : prescription.limits)
    if (limit.quantity == quantity && limit.scope == core::Scope::each_hour && limit.kind != core::Kind::preference)
      found.push_back(&limit);
  return found;
}

// From early morning to midnight; the window and what follows it; of the next morning every third hour.
std::vector<int> hours_shown(const SheetDay& day) {
  std::vector<int> shown;
  for (int hour = std::max(day.date.begin, 0); hour < day.size(); ++hour) {
    const UtcTime t = day.clock.hour(hour).start();
    const LocalDate date = day.zone().date(t);
    const auto clock_hour = (day.zone().local(t) - LocalTime(date)) / std::chrono::hours(1);
    const bool is_near = day.window && hour >= day.begin && hour < day.end + kHoursAfterWindow;
    const bool is_of_date = date == day.day.date && clock_hour >= kFirstClockHour;
    const bool is_next_morning = date == day.day.date + days(1) && clock_hour < kMorningHours && clock_hour % kMorningStep == 0;
    if (is_near || is_of_date || is_next_morning) shown.push_back(hour);
    if (date > day.day.date + days(1) && !is_near) break;
  }
  return shown;
}

std::string hour_name(const SheetDay& day, int hour) {
  const UtcTime t = day.clock.hour(hour).start();
  const LocalDate date = day.zone().date(t);
  const std::string clock = day.clock_name(t);
  return date == day.day.date ? clock : clock + " " + weekday_name(date).substr(0, 3);
}

struct ShownColumn {
  const ColumnOfSheet* column;
  std::vector<const core::Limit*> limits;
  std::vector<core::LimitHours> held;
};

SheetCell cell_of(const SheetDay& day, const ShownColumn& column, int hour) {
  SheetCell cell{std::string(kMissing), std::nullopt};
  double value = day.at(column.column->key, hour);
  if (!column.held.empty()) {
    cell.fit = core::Fit::in;
    for (const core::LimitHours& limit : column.held) cell.fit = std::min(*cell.fit, limit.fit(hour));
    value = column.held.front().value(hour);  // of the point that decides
  }
  if (!std::isnan(value)) {
    cell.value = shown(value, column.column->decimals, column.limits);
    const core::Column& own = day.hours()[column.column->key];
    if (!own.empty() && (own.flags(static_cast<std::size_t>(hour)) & core::flag::kOutOfDomain)) cell.value += "*";
  }
  return cell;
}

// "in the 2 days after", "in the 24 h before", …
std::string scope_of(const core::Limit& limit) {
  switch (limit.scope) {
    case core::Scope::before:
      return limit.days > 0 ? fmt::format(" in the {} days before", limit.days) : fmt::format(" in the {} h before", limit.hours);
    case core::Scope::days_after:
      return limit.days == 1 ? std::string(" on the day after") : fmt::format(" in the {} days after", limit.days);
    case core::Scope::each_hour:
      return limit.hours_after > 0 ? fmt::format(", also {} h after", limit.hours_after) : std::string();
    default: return core::scope_text(limit);
  }
}

std::string acceptable_text(const core::Limit& limit) {
  constexpr std::string_view kNeeds = "needs ";
  std::string text = core::needs_text(limit);
  if (text.starts_with(kNeeds)) text.erase(0, kNeeds.size());
  if (limit.allow_hours > 0) text += fmt::format(", but {} h", limit.allow_hours);
  return text;
}

std::vector<double> values_of(const core::LimitHours& held, int begin, int end) {
  std::vector<double> values;
  for (int hour = begin; hour < end; ++hour) values.push_back(held.value(hour));
  return values;
}

// Where the tail of the day begins: after the window of the last of the dates that are burnt one after another.
struct TailBegin {
  core::DateHours date;
  int end;
};
TailBegin tail_begin(const SheetDay& day) {
  const int more = day.view.unit.prescription.consecutive_days - 1;
  if (more <= 0) return {day.date, day.end};
  const core::DateHours last = day.clock.date(day.day.date + days(more));
  const core::Day* last_day = day_on(day.view, last.date);
  const core::Window* window = last_day ? core::best_window(*last_day) : nullptr;
  return {last, window ? window->end - day.hours().first : last.within_end};
}

SheetLimit limit_of(const SheetDay& day, const core::Limit& limit) {
  const core::QuantityRow& quantity = core::catalogue()[limit.quantity];
  const core::LimitHours held = day.held(limit);
  SheetLimit line;
  line.kind = limit.kind;
  line.name = core::with_standing(capital(spoken(quantity)), limit.quantity, day.day) + scope_of(limit);
  line.acceptable = acceptable_text(limit);
  line.is_measured = (limit.scope == core::Scope::each_hour || limit.scope == core::Scope::at_start) &&
                     std::find(kMeasured.begin(), kMeasured.end(), quantity.key) != kMeasured.end();
  if (limit.scope == core::Scope::each_hour && !core::is_asked_of_stretch(limit)) {
    line.fit = held.every_hour_fit(day.begin, day.end + limit.hours_after);
    line.forecast = range_text(values_of(held, day.begin, day.end), quantity).value_or("unknown");
    return line;
  }
  const int now = day.clock.index_from(day.snapshot.now);
  const TailBegin tail = tail_begin(day);
  const core::StretchValue value = core::is_tail(limit)                   ? tail_value(held, tail.date, day.clock, tail.end)
                                   : limit.scope == core::Scope::same_day ? day_value(held, day.date, now)
                                   : core::is_asked_of_stretch(limit)     ? window_value(held, day.begin, day.end)
                                                                          : start_value(held, day.date, day.clock, day.begin);
  line.fit = value.fit;
  line.forecast = std::isnan(value.value) ? "unknown" : core::with_unit(value.value, quantity.unit);
  return line;
}

// Beyond which values lighting stops; empty where the limit has no bound.
std::string trigger_of(const core::Limit& limit) {
  const core::QuantityRow& quantity = core::catalogue()[limit.quantity];
  if (!limit.sectors.empty()) {
    std::string sectors;
    for (const core::Sector& s : limit.sectors)
      sectors += (sectors.empty() ? "" : " and ") + core::with_unit(s.from, "deg") + " to " + core::with_unit(s.to, "deg");
    return "wind from outside " + sectors + " for 15 minutes";
  }
  std::vector<std::string> parts;
  const auto bound = [&](const core::Bound& b) { return core::with_unit(b.value, quantity.unit); };
  if (const auto& lower = limit.acceptable.lower)
    parts.push_back(lower->open ? bound(*lower) + " or less" : "under " + bound(*lower));
  if (const auto& upper = limit.acceptable.upper)
    parts.push_back(upper->open ? bound(*upper) + " or more" : "over " + bound(*upper));
  return parts.empty() ? "" : spoken(quantity) + " " + fmt::format("{}", fmt::join(parts, ", "));
}

}  // namespace

std::optional<std::string> range_text(const std::vector<double>& values, const core::QuantityRow& quantity) {
  if (quantity.is_direction) {
    const auto arc = arc_of(values);
    if (!arc) return std::nullopt;
    const double to = std::fmod(arc->from_deg + arc->span_deg, 360);
    return arc->span_deg < 1 ? core::with_unit(arc->from_deg, "deg") : fmt::format("{:.0f}° to {:.0f}°", arc->from_deg, to);
  }
  std::optional<double> lowest, highest;
  for (const double value : values) {
    if (std::isnan(value)) continue;
    lowest = std::min(lowest.value_or(value), value);
    highest = std::max(highest.value_or(value), value);
  }
  if (!lowest) return std::nullopt;
  const std::string low = core::in_words(*lowest), high = core::with_unit(*highest, quantity.unit);
  return core::in_words(*lowest) == core::in_words(*highest) ? high : low + " to " + high;
}

void add_hours(const SheetDay& day, DaySheet& sheet) {
  const std::vector<int> hours = hours_shown(day);
  std::vector<ShownColumn> columns;
  for (const ColumnOfSheet& column : kColumns) {
    const std::size_t quantity = core::quantity_index(column.key);
    ShownColumn shown_column{&column, hourly_limits(day.view.unit.prescription, quantity), {}};
    const bool has_values =
        std::any_of(hours.begin(), hours.end(), [&](int hour) { return !std::isnan(day.at(column.key, hour)); });
    // None without anything to show in any of the hours and anything asked of it.
    if (shown_column.limits.empty() && (!has_values || column.only_if_limited)) continue;
    for (const core::Limit* limit : shown_column.limits) shown_column.held.push_back(day.held(*limit));
    sheet.columns.push_back({std::string(column.name), unit_text(core::catalogue()[quantity].unit), quantity});
    columns.push_back(std::move(shown_column));
  }
  const core::UnitPlan plan;
  const std::vector<core::Fit> all = core::fit_by_hour(
      {&day.view.unit.traits, &day.view.unit.prescription, &plan, day.snapshot.now, day.snapshot.now, day.points});
  for (const int hour : hours) {
    SheetHour row;
    row.name = hour_name(day, hour);
    row.is_in_window = std::any_of(day.day.windows.begin(), day.day.windows.end(), [&](const core::Window& w) {
      return w.start <= day.clock.hour(hour) && day.clock.hour(hour) < w.end;
    });
    for (const ShownColumn& column : columns) row.cells.push_back(cell_of(day, column, hour));
    row.all = static_cast<std::size_t>(hour) < all.size() ? all[static_cast<std::size_t>(hour)] : core::Fit::unknown;
    sheet.hours.push_back(std::move(row));
  }
}

void add_limits(const SheetDay& day, DaySheet& sheet) {
  const core::Prescription& prescription = day.view.unit.prescription;
  sheet.limits_asked_of = core::best_window(day.day) ? "in the window"
                          : day.window               ? "in the hours that are too few for a window"
                                                     : "in the light-up hours";
  for (const core::Limit& limit : prescription.limits) sheet.limits.push_back(limit_of(day, limit));
  std::stable_partition(sheet.limits.begin(), sheet.limits.end(), [](const SheetLimit& limit) { return limit.is_measured; });

  for (const core::Limit& limit : prescription.limits) {
    const std::string_view key = core::catalogue()[limit.quantity].key;
    if (limit.scope != core::Scope::each_hour || limit.kind == core::Kind::preference ||
        (std::find(kMeasured.begin(), kMeasured.end(), key) == kMeasured.end() && key != "precipitation_amount"))
      continue;
    if (std::string trigger = trigger_of(limit); !trigger.empty()) sheet.triggers.push_back(std::move(trigger));
  }
  if (sheet.triggers.empty()) sheet.triggers.emplace_back("the prescription limits nothing that is measured here");

  for (const std::string_view key : kBehaviour) {
    const core::QuantityRow& quantity = core::catalogue()[core::quantity_index(key)];
    std::vector<double> values;
    for (int hour = day.begin; hour < day.end; ++hour) values.push_back(day.at(key, hour));
    sheet.behaviour.push_back({capital(spoken(quantity)), range_text(values, quantity).value_or("unknown")});
  }
}

}  // namespace hakea::service
