// The sections about what people entered: stops, open burns, bookings.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/days/explain.h"
#include "service/tell/burn_ahead.h"
#include "service/tell/digest_sections.h"
#include "service/tell/look_ahead.h"
#include "service/tell/official.h"
#include "service/tell/shared_smoke.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

using std::chrono::days;

constexpr std::size_t kAtMost = 8;  // lines of one kind before the rest is only counted
constexpr auto kSoon = days(3);     // how far ahead a coming stop is told
// What nobody can read off the rest of the section (JOB §9, W2), after what is entered and where nothing is.
constexpr std::string_view kStopsCaution =
    "Check total fire ban, restricted/prohibited periods and permits with the declaring authority. This system does not know "
    "them unless entered.";
constexpr std::string_view kNoStops =
    "None entered here; check the declaring authority for total fire ban, restricted/prohibited periods and permits. This "
    "system does not know them unless entered.";

// Counts what a list holds beyond `kAtMost` instead of saying it.
void shorten(DigestLines& lines, std::string_view one, std::string_view many) {
  if (lines.size() <= kAtMost) return;
  const std::size_t more = lines.size() - kAtMost;
  lines.resize(kAtMost);
  lines.push_back(line_of(fmt::format("And {}.", counted(more, one, many))));
}

// Of the district, by id.
const UnitView* unit_of(const Morning& morning, std::string_view id) {
  const UnitView* view = morning.snapshot.unit(id);
  return view && view->unit.district == morning.district.district.id ? view : nullptr;
}

bool concerns(const Morning& morning, const StopEntry& stop) {
  switch (stop.covers) {
    case StopEntry::Covers::district: return stop.whom == morning.district.district.id;
    case StopEntry::Covers::unit: return unit_of(morning, stop.whom) != nullptr;
    case StopEntry::Covers::airshed:
      return std::any_of(morning.units.begin(), morning.units.end(),
                         [&](const UnitView* v) { return v->unit.airshed == stop.whom; });
  }
  return false;
}

std::string stop_subject(const Morning& morning, const StopEntry& stop) {
  const std::string_view kind = stop.kind == "declared_ban" ? "Declared ban"
                                : stop.kind == "event"      ? "Event"
                                : stop.kind == "period"     ? "Closed period"
                                                            : "Stop";
  const UnitView* unit = stop.covers == StopEntry::Covers::unit ? unit_of(morning, stop.whom) : nullptr;
  const std::string whom = unit                                        ? unit->unit.name
                           : stop.covers == StopEntry::Covers::airshed ? "airshed " + stop.whom
                                                                       : "the whole district";
  return fmt::format("{} for {}", kind, whom);
}

std::string stop_time_text(const StopTime& time, const TimeZone& zone) {
  if (const auto* date = std::get_if<LocalDate>(&time)) return spoken_date(*date);
  const UtcTime t = std::get<UtcTime>(time);
  return fmt::format("{} {}", spoken_date(zone.date(t)), clock_text(t, zone));
}

// First and last local date that a stop touches.
std::pair<LocalDate, LocalDate> dates_of(const StopEntry& stop, const TimeZone& zone) {
  const auto* first = std::get_if<LocalDate>(&stop.from);
  const auto* last = std::get_if<LocalDate>(&stop.to);
  return {first ? *first : zone.date(std::get<UtcTime>(stop.from)),
          last ? *last : zone.date(std::get<UtcTime>(stop.to) - std::chrono::seconds(1))};
}

void say_stop(const Morning& morning, const StopEntry& stop, DigestLines& now, DigestLines& coming) {
  if (!concerns(morning, stop)) return;
  const UnitView* unit = stop.covers == StopEntry::Covers::unit ? unit_of(morning, stop.whom) : nullptr;
  const TimeZone& zone = unit ? unit->unit.traits.zone : zone_of(morning.district);
  const auto [first, last] = dates_of(stop, zone);
  if (last < morning.date || first > morning.date + kSoon) return;
  const bool is_coming = first > morning.date;
  const bool is_one_date = stop.from == stop.to && first == last;
  const std::string when = is_one_date ? "on " + spoken_date(first)
                                       : (is_coming ? "from " + stop_time_text(stop.from, zone) + " " : std::string()) +
                                             "until " + stop_time_text(stop.to, zone);
  (is_coming ? coming : now)
      .push_back({.unit = unit ? unit->unit.id : "",
                  .text = fmt::format("{} {}{}{}.", stop_subject(morning, stop), when, stop.why.empty() ? "" : ": ", stop.why),
                  .date = date_text(std::max(first, morning.date)),
                  .verdict = "blocked"});
}

// The verdict of a date in a few words, with its window.
std::string day_words(const UnitView& view, const core::Day& day) {
  std::string text;
  for (const core::Window& w : day.windows)
    text += fmt::format("{}{}{}", text.empty() ? "" : " and ", spoken_span(w.start.start(), w.end.start(), view.unit.traits.zone),
                        w.unconfirmed ? " unconfirmed" : "");
  const std::string verdict = spoken(day.verdict);
  return text.empty() ? verdict : fmt::format("{}, window {}", verdict, text);
}

// Two digits are all that a screening knows: 18028 as 18000.
double rough(double value) {
  const double step = value > 0 ? std::pow(10, std::floor(std::log10(value)) - 1) : 1;
  return std::round(value / step) * step;
}

// Notices that later bookings need, from two dates before they are due on.
void say_notices_due(const Morning& morning, DigestLines& lines) {
  for (const Booking& booking : morning.district.district.bookings) {
    const UnitView* view = unit_of(morning, booking.unit);
    if (!view || view->unit.notice_days == 0 || (booking.state != "draft" && booking.state != "committed")) continue;
    if (booking.date <= morning.date + days(1) || is_notice_given(view->unit, booking)) continue;
    const LocalDate last = booking.date - days(view->unit.notice_days);
    if (last > morning.date + days(1)) continue;
    const std::string due = last < morning.date ? "was due by the end of " : "is due by the end of ";
    lines.push_back({.unit = view->unit.id,
                     .text = fmt::format("{}, {}, {}: notice {}{}, none entered.", view->unit.name, spoken_date(booking.date),
                                         booking.state, due, spoken_date(last)),
                     .date = date_text(booking.date),
                     .verdict = {}});
  }
}

// Where units planned for one date share an airshed.
void say_shared_smoke(const std::vector<const UnitView*>& booked, LocalDate date, DigestLines& lines) {
  for (const SharedSmoke& smoke : shared_smoke(booked, date)) {
    std::vector<std::string> names;
    for (const UnitView* view : smoke.units) names.push_back(view->unit.name);
    lines.push_back(
        {.unit = {},
         .text = fmt::format("Smoke of {} meets over {}: up to {:g} µg/m³ of fine particles {}, a screening within a factor of "
                             "ten{}.",
                             listed(names), smoke.receptor, rough(smoke.ug_m3),
                             spoken_time(smoke.at.start(), smoke.units.front()->unit.traits.zone),
                             smoke.in_domain ? "" : ", outside its model's domain"),
         .date = date_text(date),
         .verdict = {}});
  }
}

}  // namespace

Morning::Morning(const Snapshot& s, const DistrictView& d, LocalDate on) : snapshot(s), district(d), date(on) {
  for (const auto& [id, view] : s.units)
    if (view->unit.district == d.district.id) {
      units.push_back(view.get());
      has_days = has_days || !view->days.empty();
    }
}

DigestLines stops_lines(const Morning& morning) {
  DigestLines now, coming;
  for (const StopEntry& stop : morning.district.district.stops) say_stop(morning, stop, now, coming);
  DigestLines closed;
  for (const UnitView* view : morning.units)
    for (const core::ClosedSpan& span : view->unit.prescription.closed)
      if (span.from <= morning.date + kSoon && span.to >= morning.date)
        closed.push_back({.unit = view->unit.id,
                          .text = fmt::format("{} is closed by its prescription {}until {}{}{}.", view->unit.name,
                                              span.from > morning.date ? "from " + spoken_date(span.from) + " " : "",
                                              spoken_date(span.to), span.why.empty() ? "" : ": ", span.why),
                          .date = date_text(std::max(span.from, morning.date)),
                          .verdict = "blocked"});
  shorten(closed, "more unit is closed by its prescription", "more units are closed by their prescriptions");
  DigestLines lines = std::move(now);
  const bool is_none_entered = lines.empty();
  if (is_none_entered) lines.push_back(line_of(std::string(kNoStops)));
  lines.insert(lines.end(), coming.begin(), coming.end());
  lines.insert(lines.end(), closed.begin(), closed.end());
  if (!is_none_entered) lines.push_back(line_of(std::string(kStopsCaution)));
  return lines;
}

DigestLines open_burn_lines(const Morning& morning) {
  DigestLines lines;
  for (const Booking& booking : morning.district.district.bookings) {
    if (!is_open_burn(booking)) continue;
    const UnitView* view = morning.snapshot.unit_or_retired(booking.unit);
    if (!view || view->unit.district != morning.district.district.id) continue;
    const TimeZone& zone = view->unit.traits.zone;
    std::string text = fmt::format("{}, {}", view->unit.name,
                                   booking.state == "mop_up" ? "in mop-up"
                                   : booking.state == "lit"  ? "lit"
                                                             : "on patrol");
    if (booking.lit_at)
      text += fmt::format("{} {}", booking.state == "lit" ? "" : ", lit", spoken_date(zone.date(*booking.lit_at)));
    const auto hours = view->weather ? hours_of_all_feeds(*view) : std::vector<std::vector<core::UnitHours>>{};
    const LookAhead ahead = look_ahead(hours, morning.snapshot.now);
    std::vector<std::string> worst;
    const auto say = [&](std::string_view what, const std::optional<WorstHour>& value, std::string_view unit) {
      if (value) worst.push_back(spoken(what, *value, unit, zone));
    };
    say("calculated FFDI", ahead.ffdi, "1");
    say("gust", ahead.gust, "km/h");
    say("relative humidity", ahead.humidity, "%");
    text += worst.empty() ? ": the next 72 hours are not known" : ": worst of the next 72 hours " + listed(worst);
    if (!worst.empty() && ahead.missing_hours > 0)
      text += fmt::format(", {} unknown", counted(std::size_t(ahead.missing_hours), "hour", "hours"));
    text += ".";
    std::vector<std::string> coming;
    if (ahead.danger_at) coming.push_back(fmt::format("{} {}", ahead.danger, spoken_time(ahead.danger_at->start(), zone)));
    if (ahead.danger_at && ahead.week_ffdi && ahead.week_ffdi->at != *ahead.danger_at)
      coming.push_back(
          fmt::format("calculated FFDI up to {:.0f} {}", ahead.week_ffdi->value, spoken_time(ahead.week_ffdi->at.start(), zone)));
    const auto week = core::burn_days(view->unit.traits, view->unit.prescription, hours, morning.snapshot.now);
    for (std::string& said : burn_week_words(*view, week)) coming.push_back(std::move(said));
    if (!coming.empty()) text += fmt::format(" Ahead: {}.", fmt::join(coming, "; "));
    lines.push_back({.unit = view->unit.id, .text = std::move(text), .date = {}, .verdict = {}});
  }
  if (lines.empty()) lines.push_back(line_of("None entered here as lit, in mop-up or on patrol."));
  return lines;
}

DigestLines planned_lines(const Morning& morning) {
  DigestLines lines;
  std::array<std::vector<const UnitView*>, 2> booked;  // today, tomorrow
  for (const Booking& booking : morning.district.district.bookings) {
    if (booking.state != "draft" && booking.state != "committed") continue;
    if (booking.date != morning.date && booking.date != morning.date + days(1)) continue;
    const UnitView* view = unit_of(morning, booking.unit);
    if (!view) continue;
    booked[booking.date == morning.date ? 0 : 1].push_back(view);
    const core::Day* day = day_on(*view, booking.date);
    std::string text = fmt::format("{}, {}, {}: ", view->unit.name, spoken_date(booking.date), booking.state);
    text += day ? day_words(*view, *day) : "no forecast for it";
    if (day && day->verdict == core::Verdict::blocked) {
      std::vector<std::string> by;
      for (const core::Blocked& b : day->blocked_by) by.push_back(b.why.empty() ? b.kind : b.why);
      text += " by " + listed(by);
    }
    if (day && day->limiting && day->limiting->limit < view->unit.prescription.limits.size()) {
      const core::Limit& limit = view->unit.prescription.limits[day->limiting->limit];
      text += fmt::format("; {} limits", core::with_standing(spoken(limit), limit.quantity, *day));
      if (day->limiting->margin)
        text += fmt::format(" by {}", core::with_unit(std::abs(*day->limiting->margin), core::catalogue()[limit.quantity].unit));
    }
    if (day) text += doubt_words(*day, view->unit.traits.zone);
    if (day && day->tail.verdict == core::TailVerdict::in) text += "; night and days after in";
    if (day && day->tail.verdict == core::TailVerdict::out) text += "; night and days after out";
    if (day && day->tail.verdict == core::TailVerdict::unknown) text += "; night and days after unknown";
    if (const std::string official = official_text(
            *view, official_forecasts(morning.snapshot, *view, view->unit.traits.zone.day_begin(booking.date)), booking.date);
        !official.empty())
      text += "; " + official;
    if (view->unit.notice_days > 0 && !is_notice_given(view->unit, booking)) text += "; no notice entered for it";
    lines.push_back({.unit = view->unit.id,
                     .text = text + ".",
                     .date = date_text(booking.date),
                     .verdict = day ? std::string(core::word(day->verdict)) : ""});
  }
  say_notices_due(morning, lines);
  say_shared_smoke(booked[0], morning.date, lines);
  say_shared_smoke(booked[1], morning.date + days(1), lines);
  if (lines.empty())
    lines.push_back(
        line_of(fmt::format("No booking for {} or {}.", spoken_date(morning.date), spoken_date(morning.date + days(1)))));
  return lines;
}

}  // namespace hakea::service
