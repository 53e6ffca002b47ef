#include "core/days/blocked.h"

#include <algorithm>

#include "core/days/explain.h"

namespace hakea::core {
namespace {

using std::chrono::days;

bool is_in_season(const Prescription& prescription, LocalDate date) {
  if (prescription.seasons.empty()) return true;
  const std::chrono::year_month_day ymd(date);
  const std::chrono::month_day day(ymd.month(), ymd.day());
  return std::any_of(prescription.seasons.begin(), prescription.seasons.end(), [&](const SeasonSpan& s) {
    return s.from <= s.to ? s.from <= day && day <= s.to : s.from <= day || day <= s.to;
  });
}

// The day after which a neighbour's burn no longer counts: twelve months later.
LocalDate a_year_after(LocalDate lit) {
  const std::chrono::year_month_day ymd(lit);
  const std::chrono::year_month_day next(ymd.year() + std::chrono::years(1), ymd.month(), ymd.day());
  return next.ok() ? LocalDate(next) : LocalDate(next.year() / next.month() / std::chrono::last);
}

std::string_view blocked_kind(const std::string& stop_kind) {
  if (stop_kind == "declared_ban" || stop_kind == "event") return stop_kind;
  return stop_kind == "period" ? "closed" : "stop";
}

}  // namespace

std::optional<LocalDate> last_lit(const UnitPlan& plan, const std::string& unit, LocalDate by) {
  std::optional<LocalDate> latest;
  for (const LitUnit& lit : plan.lit)
    if (lit.unit == unit && lit.lit_on <= by && (!latest || lit.lit_on > *latest)) latest = lit.lit_on;
  return latest;
}

std::vector<Blocked> blocked_by(const UnitTraits& unit, const Prescription& prescription, const UnitPlan& plan,
                                const DateHours& on, const UnitClock& clock, UtcTime now) {
  std::vector<Blocked> found;
  const LocalDate date = on.date;
  const auto stops_of = [&](std::string_view kind) {
    const UtcTime opens = clock.hour(on.within_begin).start(), closes = clock.hour(on.within_end).start();
    for (const Stop& stop : plan.stops)
      if (blocked_kind(stop.kind) == kind && stop.from < closes && stop.to > opens)
        found.push_back(
            {.kind = std::string(kind), .why = stop.why, .until = iso_date(unit.zone.date(stop.to - std::chrono::seconds(1)))});
  };

  stops_of("declared_ban");
  for (const ClosedSpan& closed : prescription.closed)
    if (closed.from <= date && date <= closed.to)
      found.push_back({.kind = "closed", .why = closed.why, .until = iso_date(closed.to)});
  stops_of("closed");
  if (!is_in_season(prescription, date))
    found.push_back({.kind = "season", .why = "outside the season of the prescription", .until = {}});
  const bool is_listed = prescription.weekdays[std::chrono::weekday(date).iso_encoding() - 1];
  if (!is_listed && !(prescription.holidays_pass && plan.holidays.contains(date)))
    found.push_back({.kind = "weekday", .why = "not one of the days of the prescription", .until = {}});
  stops_of("event");
  if (plan.status != "ready" && plan.status != "part_burnt") {
    found.push_back({.kind = "not_ready", .why = "the unit is " + plan.status, .until = {}});
  } else if (plan.is_open_burn && plan.status != "part_burnt") {
    found.push_back({.kind = "not_ready", .why = "the unit is an open burn", .until = {}});
  }
  if (plan.notice_days > 0 && !plan.notice_given_for.contains(date)) {
    const LocalDate last_notice = date - days(plan.notice_days);
    if (now >= unit.zone.day_begin(last_notice + days(1)))
      found.push_back({.kind = "notice", .why = "notice was due by the end of " + iso_date(last_notice), .until = {}});
  }
  for (const auto& [other, wait] : plan.after) {
    const auto lit = last_lit(plan, other, date);
    if (!lit) {
      found.push_back({.kind = "after", .why = other + " has not been lit", .until = {}});
    } else if (*lit + days(wait) > date) {
      found.push_back({.kind = "after",
                       .why = other + " was lit on " + iso_date(*lit) + ", " + std::to_string(wait) + " days must pass",
                       .until = iso_date(*lit + days(wait - 1))});
    }
  }
  for (const std::string& other : plan.adjacent) {
    const auto lit = last_lit(plan, other, date);
    if (lit && a_year_after(*lit) > date)
      found.push_back({.kind = "adjacent",
                       .why = other + " beside it was lit on " + iso_date(*lit),
                       .until = iso_date(a_year_after(*lit) - days(1))});
  }
  stops_of("stop");
  return found;
}

std::vector<Blocked> blocked_on_any(const UnitTraits& unit, const Prescription& prescription, const UnitPlan& plan,
                                    LocalDate first, const UnitClock& clock, UtcTime now) {
  std::vector<Blocked> all;
  for (int k = 0; k < prescription.consecutive_days; ++k) {
    const std::vector<Blocked> before = all;
    for (Blocked& b : blocked_by(unit, prescription, plan, clock.date(first + days(k)), clock, now))
      if (std::none_of(before.begin(), before.end(), [&](const Blocked& known) { return known.kind == b.kind; }))
        all.push_back(std::move(b));
  }
  return all;
}

}  // namespace hakea::core
