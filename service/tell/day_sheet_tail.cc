// What may come after lighting: a turn of the wind, the night, and the days after.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/air/smoke.h"
#include "core/days/explain.h"
#include "core/days/open_burn.h"
#include "service/tell/day_sheet_parts.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

constexpr int kHoursAfter = 12;  // in which a turn of the wind still concerns the burn
constexpr std::size_t kTurnsAtMost = 2;
constexpr int kWeek_h = 7 * 24;

std::string whole(double value) { return fmt::format("{:.0f}", value); }

}  // namespace

std::string compass(double direction_deg) {
  constexpr std::array<std::string_view, 8> kPoints{"N", "NE", "E", "SE", "S", "SW", "W", "NW"};
  const auto eighth = static_cast<std::size_t>(std::lround(std::fmod(direction_deg + 360, 360) / 45)) % kPoints.size();
  return std::string(kPoints[eighth]);
}

std::optional<Arc> arc_of(const std::vector<double>& directions_deg) {
  std::optional<double> last;
  double turned = 0, lowest = 0, highest = 0, first = 0;
  for (const double direction : directions_deg) {
    if (std::isnan(direction)) continue;
    if (last)
      turned += std::remainder(direction - *last, 360);
    else
      first = direction;
    lowest = std::min(lowest, turned);
    highest = std::max(highest, turned);
    last = direction;
  }
  if (!last) return std::nullopt;
  return Arc{std::fmod(first + lowest + 720, 360), std::min(highest - lowest, 360.0)};
}

void add_wind_change(const SheetDay& day, DaySheet& sheet) {
  int unknown = 0;
  std::size_t turns = 0;
  bool is_turning = false;
  for (int hour = day.begin; hour < day.end + kHoursAfter; ++hour) {
    const double turn = day.at("wind_shift", hour), from = day.at("wind_from_direction", hour), wind = day.at("wind_speed", hour),
                 gust = day.at("wind_gust", hour);
    if (std::isnan(turn) || std::isnan(from)) {
      ++unknown;
      continue;
    }
    const bool was_turning = is_turning;
    is_turning = turn >= core::kWindTurn_deg;
    if (!is_turning || was_turning || ++turns > kTurnsAtMost) continue;
    sheet.wind_change.push_back(fmt::format(
        "{}: turns by {}° and comes from {} ({}°) at {} km/h{}; the {} edge is then downwind. The forecast gives the hour only "
        "roughly.",
        day.time_name((day.clock.hour(hour)).start()), whole(turn), compass(from), whole(from), whole(wind),
        std::isnan(gust) ? "" : ", gust " + whole(gust), compass(from + 180)));
  }
  const int asked = day.end + kHoursAfter - day.begin;
  if (turns > kTurnsAtMost) sheet.wind_change.push_back(fmt::format("It turns {} times in all.", turns));
  // A turn is a hazard: what any feed sees at any point counts.
  const auto elsewhere = core::worst_between(hours_of_all_feeds(day.view, Members::first), day.clock.hour(day.begin),
                                             day.clock.hour(day.end + kHoursAfter))
                             .change;
  if (turns == 0 && elsewhere)
    sheet.wind_change.push_back(fmt::format("{}: by another feed or at another point it turns by {}° at {} km/h.",
                                            day.time_name(elsewhere->at.start()), whole(static_cast<double>(elsewhere->turn_deg)),
                                            whole(static_cast<double>(elsewhere->wind_kmh))));
  else if (turns == 0 && unknown < asked)
    sheet.wind_change.push_back(fmt::format("No turn of {}° or more is forecast until {}.", whole(core::kWindTurn_deg),
                                            day.time_name(day.clock.hour(day.end + kHoursAfter).start())));
  if (unknown > 0) sheet.wind_change.push_back(fmt::format("Not known in {} of {} hours.", unknown, asked));
}

void add_night_and_tail(const SheetDay& day, DaySheet& sheet) {
  const core::NightHours night = day.clock.night_after(day.end);
  const int begin = std::max(night.begin, day.end);
  if (begin < night.end) {
    double strongest = 0, top = 0, ventilation = std::numeric_limits<double>::infinity();
    int calm = 0, unknown = 0;
    for (int hour = begin; hour < night.end; ++hour) {
      const double inversion = day.at("inversion_strength", hour), wind = day.at("wind_speed", hour),
                   mixed = day.at("ventilation_index", hour);
      if (std::isnan(wind) || std::isnan(mixed)) ++unknown;
      if (inversion > strongest) strongest = inversion, top = day.at("inversion_top", hour);
      if (wind < core::kVariableWind.value()) ++calm;
      if (mixed < ventilation) ventilation = mixed;
    }
    const int hours = night.end - begin;
    std::string text = fmt::format("Night {} to {}: ", day.time_name(day.clock.hour(begin).start()),
                                   day.clock_name(day.clock.hour(night.end).start()));
    if (unknown == hours) {
      text += "not known.";
    } else {
      text += strongest > 0 ? fmt::format("inversion up to {}{}; ", core::with_unit(strongest, "Cel"),
                                          std::isnan(top) ? "" : ", top at " + core::with_unit(top, "m"))
                            : "no inversion known; ";
      text += fmt::format("wind under {} km/h in {} of {} hours{}; ", whole(core::kVariableWind.value()), calm, hours,
                          calm > 0 ? ": smoke pools and drains downhill" : "");
      text += std::isfinite(ventilation) ? fmt::format("ventilation down to {} m²/s", whole(ventilation))
                                         : std::string("ventilation not known");
      text += unknown > 0 ? fmt::format("; {} of {} hours not known.", unknown, hours) : ".";
    }
    sheet.after.push_back(std::move(text));
  }

  if (const auto& smoke = day.day.night_smoke) {
    const core::Limit& limit = day.view.unit.prescription.limits[smoke->limit];
    sheet.after.push_back(fmt::format(
        "Night smoke limit not met: {}{}, {}{}.", spoken(core::catalogue()[limit.quantity]),
        smoke->value ? " " + core::with_unit(static_cast<double>(*smoke->value), core::catalogue()[limit.quantity].unit)
                     : std::string(),
        core::needs_text(limit),
        smoke->finish_by ? "; an end by " + day.clock_name(*smoke->finish_by) + " is advised" : std::string()));
  }
  const core::Tail& tail = day.day.tail;
  const auto said = [&](const core::TailValue& value) {
    const core::Limit& limit = day.view.unit.prescription.limits[value.limit];
    return fmt::format("{} {} on {}", spoken(core::catalogue()[limit.quantity]),
                       core::with_unit(static_cast<double>(value.value), core::catalogue()[limit.quantity].unit),
                       day.time_name(value.at.start()));
  };
  std::string text = fmt::format("Tail of the prescription: {}",
                                 tail.verdict == core::TailVerdict::none ? "no limits" : core::word(tail.verdict));
  if (tail.worst) text += "; worst " + said(*tail.worst);
  if (tail.beyond) text += "; beyond it " + said(*tail.beyond);
  sheet.after.push_back(text + ".");

  const auto worst =
      core::worst_between(hours_of_all_feeds(day.view), day.clock.hour(day.end), day.clock.hour(day.end + kWeek_h)).ffdi;
  int unknown = 0;
  for (int hour = day.end; hour < day.end + kWeek_h; ++hour)
    if (std::isnan(day.at("ffdi", hour))) ++unknown;
  sheet.after.push_back(
      !worst ? "Worst day of the next seven: not known."
             : fmt::format("Worst of the next seven days: calculated FFDI {} on {}{}.",
                           core::in_words(static_cast<double>(worst->value)), day.time_name(worst->at.start()),
                           unknown > 0 ? fmt::format("; {} of {} hours not known", unknown, kWeek_h) : std::string()));
}

}  // namespace hakea::service
