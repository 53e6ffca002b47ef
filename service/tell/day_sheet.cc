#include "service/tell/day_sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string_view>

#include "core/days/explain.h"
#include "service/input/json.h"
#include "service/output/cautions.h"
#include "service/output/time_text.h"
#include "service/tell/day_sheet_parts.h"
#include "service/tell/missing_pieces.h"
#include "service/tell/official.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

constexpr std::string_view kSpotForecast = "Obtain an official spot forecast and measure fuel moisture on site before lighting.";
constexpr std::string_view kLocalWind = "Wind in valleys, on coasts and under canopy can differ greatly from the model.";
constexpr std::size_t kReasonsAtMost = 4;  // of what is missing, before the rest is only counted

// A word of the interface as people write it: "out of domain".
std::string with_blanks(std::string_view word, char separator = '_') {
  std::string text(word);
  std::replace(text.begin(), text.end(), separator, ' ');
  return text;
}

// "+11", "+10:30".
std::string short_offset(UtcTime t, const TimeZone& zone) {
  std::string offset = offset_text(t, zone);
  if (offset.ends_with(":00")) offset.resize(offset.size() - 3);
  return offset;
}

// "Tue 30 Mar 06:30+11:00".
std::string full_time(UtcTime t, const TimeZone& zone) {
  return fmt::format("{} {}{}", day_name(zone.date(t)), clock_text(t, zone), offset_text(t, zone));
}

// The booking of the unit for the date, as it was entered; of several the one that may still be burnt.
std::optional<json::value> booking_of(const SheetDay& day) {
  std::optional<json::value> found;
  for (const Entry& entry : day.snapshot.bookings) {
    auto body = parse_json(entry.body, entry.id);
    if (!body || text_member(*body, "unit") != day.view.unit.id || text_member(*body, "date") != date_text(day.day.date))
      continue;
    if (found && text_member(*body, "state") == "stood_down") continue;
    if (text_member(*body, "by").empty() && body->is_object()) body->as_object()["by"] = entry.by;
    found = *std::move(body);
  }
  return found;
}

std::string about_text(const Unit& unit) {
  std::vector<std::string> parts;
  if (unit.area_ha) parts.push_back(core::in_words(*unit.area_ha) + " ha");
  std::string fuel = with_blanks(unit.traits.fuel.type, '-');
  if (!std::isnan(unit.traits.fuel.age_years)) fuel += fmt::format(", {} years", core::in_words(unit.traits.fuel.age_years));
  parts.push_back(fuel);
  const core::Site& site = unit.traits.site;
  if (!std::isnan(site.elevation.value())) parts.push_back(core::in_words(site.elevation.value()) + " m");
  if (site.slope.value() >= 1 && !std::isnan(site.aspect.value()))
    parts.push_back(fmt::format("slope {}° facing {}", core::in_words(site.slope.value()), compass(site.aspect.value())));
  return fmt::format("{}", fmt::join(parts, " · "));
}

void add_head(const SheetDay& day, UtcTime now, DaySheet& sheet) {
  const Unit& unit = day.view.unit;
  const auto district = day.snapshot.districts.find(unit.district);
  sheet.unit = unit.id;
  sheet.name = unit.name;
  sheet.district = district == day.snapshot.districts.end() ? unit.district : district->second.district.name;
  sheet.date = fmt::format("{} {}", spoken_date(day.day.date), int(std::chrono::year_month_day(day.day.date).year()));
  sheet.about = about_text(unit);
  sheet.printed = "Printed " + full_time(now, day.zone());
  if (const auto& run = day.view.run) {
    const auto age = std::chrono::round<std::chrono::hours>(now - run->reference_time).count();
    sheet.forecast = fmt::format("Forecast {}, made {}, {} old", run->feed, full_time(run->reference_time, day.zone()),
                                 counted(static_cast<std::size_t>(std::max<long>(age, 0)), "hour", "hours"));
    if (!run->next_expected)
      sheet.void_after = "Void once a newer forecast is there";
    else if (*run->next_expected > now)
      sheet.void_after = fmt::format("Void after {}", full_time(*run->next_expected, day.zone()));
    else
      sheet.void_after = fmt::format("Void unless {} is still the newest forecast", full_time(run->reference_time, day.zone()));
  }
  sheet.guidance = kGuidance;
  if (district != day.snapshot.districts.end())
    for (const std::string& line : district->second.caution) sheet.guidance += " " + line;
  const std::vector<std::string> missing = missing_pieces(day.snapshot, day.zone());
  sheet.missing = "Inputs missing: " + (missing.empty() ? "none known" : listed(missing)) + ".";
  if (day.view.freshness == Freshness::stale)
    sheet.missing = "OLD FORECAST: older than one and a half cycles; take its window as unconfirmed. " + sheet.missing;
}

std::string verdict_text(const SheetDay& day) {
  const std::string span =
      day.window ? spoken_span(day.window->start.start(), day.window->end.start(), day.zone()) : std::string();
  switch (day.day.verdict) {
    case core::Verdict::met:
      return (day.view.freshness == Freshness::stale ? "Unconfirmed: old forecast within prescription "
                                                     : "Forecast within prescription ") +
             span;
    case core::Verdict::unknown: return span.empty() ? "Not known" : "Not known; unconfirmed " + span;
    case core::Verdict::near_miss: return "Near miss: forecast outside prescription";
    case core::Verdict::out: return "Forecast outside prescription";
    case core::Verdict::blocked: return "Blocked";
  }
  return "";
}

// Why no window can be named more closely: what is missing of the day, by quantity.
std::string missing_text(const core::Day& day) {
  std::vector<std::string> parts;
  for (const core::MissingInput& m : day.missing) {
    const std::string reason = with_blanks(core::word(m.reason));
    if (m.quantity)
      parts.push_back(fmt::format("{} {} h ({})", spoken(core::catalogue()[*m.quantity]), m.hours, reason));
    else
      parts.push_back(reason);
  }
  if (parts.empty()) return "";
  if (parts.size() > kReasonsAtMost) {
    const std::size_t more = parts.size() - kReasonsAtMost;
    parts.resize(kReasonsAtMost);
    parts.push_back(fmt::format("{} more", more));
  }
  return "Missing: " + listed(parts) + ".";
}

void add_window(const SheetDay& day, DaySheet& sheet) {
  const core::Day& said = day.day;
  sheet.verdict = verdict_text(day);
  if (const core::Window* w = core::best_window(said)) {
    const auto clock = [&](UtcTime t) { return day.clock_name(t) + (day.zone().date(t) == said.date ? "" : " next day"); };
    sheet.facts = {{"Earliest light-up", clock(w->start.start())},
                   {"Latest light-up", fmt::format("{}, leaves {} h", clock(w->latest_light_up),
                                                   core::in_words(day.view.unit.prescription.duration_h))},
                   {"Must finish", w->open_ended ? "not known: the forecast ends" : clock(w->end.start())},
                   {"Sunset", w->sunset == UtcTime{} || w->sunset == UtcTime::min() ? "none" : day.clock_name(w->sunset)}};
  }
  sheet.facts.push_back({"Confidence", std::string(core::word(said.confidence))});
  const auto booking = booking_of(day);
  sheet.facts.push_back(
      {"Booking", booking ? text_member(*booking, "state") + " by " + text_member(*booking, "by") : "none entered"});
  sheet.facts.push_back({"Burn officer", ""});

  for (const core::Blocked& b : said.blocked_by)
    sheet.why.push_back(fmt::format("Blocked by {}{}{}.", with_blanks(b.kind), b.why.empty() ? "" : ": " + b.why,
                                    b.until.empty() ? "" : ", until " + b.until));
  if (said.draft) sheet.why.emplace_back("The prescription is a draft: nobody has confirmed it.");
  sheet.why.push_back(said.why + ".");
  for (const core::Window& w : said.windows)
    if (&w != day.window)
      sheet.why.push_back(fmt::format("Another window {}{}.", spoken_span(w.start.start(), w.end.start(), day.zone()),
                                      w.unconfirmed ? ", unconfirmed" : ""));
  std::vector<std::string> doubts = said.flags;
  for (const std::size_t quantity : said.spin_up)
    doubts.push_back(spoken(core::catalogue()[quantity]) + " has not found its level yet");
  if (!doubts.empty()) sheet.why.push_back(fmt::format("Doubtful: {}.", fmt::join(doubts, "; ")));
  if (const std::string missing = missing_text(said); !missing.empty()) sheet.why.push_back(missing);
  if (const std::string official =
          official_text(day.view, official_forecasts(day.snapshot, day.view, day.zone().day_begin(said.date)), said.date);
      !official.empty())
    sheet.why.push_back("Entered: " + official + ".");
}

}  // namespace

SheetDay::SheetDay(const Snapshot& s, const UnitView& v, const core::Day& d)
    : snapshot(s),
      view(v),
      day(d),
      points(hours_of(v)),
      clock(v.unit.traits, v.unit.prescription, hours().first, hours().hours),
      date(clock.date(d.date)),
      window(core::best_window(d)),
      begin(date.within_begin),
      end(date.within_end) {
  if (!window && day.short_stretch) window = &*day.short_stretch;
  if (window) {
    begin = window->start - hours().first;
    end = window->end - hours().first;
  }
}

double SheetDay::at(std::string_view key, int hour) const {
  if (hour < 0 || hour >= size()) return std::numeric_limits<double>::quiet_NaN();
  const core::Column& column = hours()[key];
  return column.empty() ? std::numeric_limits<double>::quiet_NaN() : static_cast<double>(column[static_cast<std::size_t>(hour)]);
}

std::string SheetDay::clock_name(UtcTime t) const {
  return clock_text(t, zone()) + (changes_clock(zone().date(t), zone()) ? short_offset(t, zone()) : "");
}

std::string SheetDay::time_name(UtcTime t) const { return fmt::format("{} {}", day_name(zone().date(t)), clock_name(t)); }

core::LimitHours SheetDay::held(const core::Limit& limit) const {
  std::vector<const core::UnitHours*> first_members;
  for (const auto& members : points) first_members.push_back(&members.front());
  return {limit, view.unit.prescription, first_members};
}

DaySheet make_day_sheet(const Snapshot& snapshot, const UnitView& view, const core::Day& day, UtcTime now) {
  const SheetDay looked_at(snapshot, view, day);
  DaySheet sheet;
  add_head(looked_at, now, sheet);
  add_window(looked_at, sheet);
  add_wind_change(looked_at, sheet);
  add_night_and_tail(looked_at, sheet);
  add_map(looked_at, sheet);
  add_hours(looked_at, sheet);
  add_limits(looked_at, sheet);
  for (const std::string_view line : {kAskAboutBans, kSpotForecast, kNotOfficialRating, kLocalWind, kWatchTheTail})
    sheet.cautions.emplace_back(line);
  return sheet;
}

}  // namespace hakea::service
