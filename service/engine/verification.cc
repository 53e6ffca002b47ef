#include "service/engine/verification.h"

#include <algorithm>
#include <array>
#include <limits>
#include <set>

#include "core/catalogue/catalogue.h"
#include "core/days/confidence.h"
#include "core/days/history.h"
#include "core/prescription/limit_hours.h"
#include "service/engine/at_issue.h"

namespace hakea::service {
namespace {

constexpr UtcHour kNever{std::numeric_limits<std::int32_t>::max()};

// The hours of the first point that stations saw something of, put beside what was read on site.
Observed observed_by(const Unit& unit, const ObservedWeather& seen, std::vector<Observer>& observers) {
  Observed observed;
  const UtcHour first = seen.first().value_or(kNever), end = seen.end().value_or(kNever);
  const std::size_t humidity = core::quantity_index("relative_humidity");
  core::Rows scored;
  scored.set(humidity);
  std::array<std::size_t, kSurfaceQuantities> quantity_of;
  for (std::size_t q = 0; q < kSurfaceQuantities; ++q) scored.set(quantity_of[q] = core::quantity_index(kSurfaceKeys[q]));
  core::UnitHours hours = seen.hours(unit.points.front(), 0, first, end);
  core::compute_all(hours, core::with_inputs(scored));
  std::map<const StationOfPoint*, std::size_t> hours_of;
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = first + static_cast<int>(i);
    std::set<const StationOfPoint*> seers;
    const auto take = [&](std::size_t quantity) {
      // Between two observations nothing was observed.
      const core::Column& column = hours.columns[quantity];
      if (column.is_missing(i) || column.flags(i) & core::flag::kInterpolated) return false;
      observed[hour][quantity] = static_cast<double>(column[i]);
      return true;
    };
    const ObservedWeather::Seers by = seen.seers(hour);
    for (std::size_t q = 0; q < kSurfaceQuantities; ++q)
      if (by[q] && take(quantity_of[q])) seers.insert(by[q]);
    const auto at = observed.find(hour);
    if (at != observed.end() && at->second.contains(core::quantity_index("air_temperature")) &&
        at->second.contains(core::quantity_index("dew_point_temperature")))
      take(humidity);
    for (const StationOfPoint* station : seers) ++hours_of[station];
  }
  std::set<UtcHour> on_site;
  for (const EnteredReading& reading : seen.readings()) {
    observed[reading.hour][reading.quantity] = reading.value;
    on_site.insert(reading.hour);
  }
  if (!on_site.empty()) observers.push_back({.station = {}, .feed = {}, .hours = on_site.size()});
  for (const StationOfPoint& station : seen.stations(0)) {
    const auto counted = hours_of.find(&station);
    if (counted == hours_of.end()) continue;
    const std::string feed = station.run ? station.run->feed : std::string();
    // One that tells in several files, or is posted of as well, is told of once for each.
    const auto known = std::find_if(observers.begin(), observers.end(),
                                    [&](const Observer& other) { return other.station == station.name() && other.feed == feed; });
    if (known == observers.end())
      observers.push_back({station.name(), feed, station.km, station.higher_m, counted->second});
    else
      known->hours += counted->second;
  }
  return observed;
}

// The part of a prescription that observations can answer: limits whose quantity is known in at least half of the hours in
// which anything was observed [our own default]. A limit of anything else would leave every day that could have come unknown,
// and still let days be out by the others, so that windows would seem never to come. `hours`: on what was observed, computed.
core::Prescription observed_part(const core::Prescription& whole, const core::UnitHours& hours, const Observed& observed,
                                 std::vector<std::size_t>& left_aside) {
  core::Prescription part = whole;
  part.limits.clear();
  for (std::size_t i = 0; i < whole.limits.size(); ++i) {
    const core::Column& column = hours.columns[whole.limits[i].quantity];
    const auto known = std::count_if(observed.begin(), observed.end(), [&](const auto& at) {
      return at.first >= hours.first && at.first < hours.end() &&
             !column.is_missing(static_cast<std::size_t>(at.first - hours.first));
    });
    if (2 * static_cast<std::size_t>(known) >= observed.size())
      part.limits.push_back(whole.limits[i]);
    else
      left_aside.push_back(i);
  }
  return part;
}

// The hours on nothing but what was observed.
Points observed_hours(const Unit& unit, const ObservedWeather& seen, UtcHour first, UtcHour end, const CarriedDays& carried) {
  std::vector<std::string> untold;
  const auto state = state_to_begin_with(unit, carried, first, untold, std::chrono::days(0));
  Points points;
  for (std::size_t p = 0; p < unit.points.size(); ++p) {
    core::UnitHours hours = seen.hours(unit.points[p], p, first, end);
    hours.initial_state = state;
    points.push_back({std::move(hours)});
  }
  return computed(std::move(points), core::rows_of_limits(unit.prescription));
}

// What came: the verdicts of the dates on these hours.
std::map<LocalDate, core::Verdict> came(const Unit& unit, const Points& hours) {
  std::map<LocalDate, core::Verdict> verdicts;
  const core::History history = core::history_of({&unit.traits, &unit.prescription, hours, {}, {}});
  for (const auto& [date, verdict] : history.dates) verdicts.emplace(date, verdict);
  return verdicts;
}

// The first date of which a run foretells the light-up hours from their beginning.
LocalDate first_foretold(const Unit& unit, UtcTime reference_time) {
  const TimeZone& zone = unit.traits.zone;
  const ClockTime begin = unit.prescription.within ? unit.prescription.within->from : ClockTime(0);
  const LocalDate issued = zone.date(reference_time);
  return zone.instant(issued, begin) < reference_time ? issued + std::chrono::days(1) : issued;
}

}  // namespace

std::optional<core::Agreement> windows_that_came(const Verification& verification, const std::string& feed, int lead_days) {
  const auto windows = verification.windows.find({feed, lead_days});
  if (windows == verification.windows.end()) return std::nullopt;
  const core::Contingency& table = windows->second.table;
  const int called = static_cast<int>(table.hits + table.false_alarms);
  if (table.n() < static_cast<double>(core::kCasesForWindowShare) || called == 0) return std::nullopt;
  return core::Agreement{.same = static_cast<int>(table.hits), .of = called};
}

WindowsByFeed together(const std::vector<const Verification*>& units) {
  WindowsByFeed all;
  for (const Verification* unit : units)
    for (const auto& [at, windows] : unit->windows) {
      ScoredWindows& sum = all[at];
      sum.table += windows.table;
      sum.chances.insert(sum.chances.end(), windows.chances.begin(), windows.chances.end());
    }
  return all;
}

Result<Verification> verify(const Unit& whole_unit, const std::vector<RunRow>& rows, const ReadRunOf& read,
                            const CarriedDays& carried, ObservedWeather seen, UtcTime from, UtcTime to) {
  Verification verification;
  const ObservedWeather known = seen;  // of which each run has its part
  seen.keep_only(first_hour_from(from), UtcHour::of(to));
  const Observed observed = observed_by(whole_unit, seen, verification.observers);
  if (observed.empty()) return verification;
  verification.from = observed.begin()->first.start();
  verification.to = observed.rbegin()->first.end();
  Unit unit = whole_unit;
  const Points hours_seen = observed_hours(unit, seen, observed.begin()->first, observed.rbegin()->first + 1, carried);
  unit.prescription = observed_part(whole_unit.prescription, hours_seen.front().front(), observed, verification.left_aside);
  const auto verdicts = came(unit, hours_seen);
  core::Rows wanted = core::rows_of_limits(unit.prescription);
  for (const auto& [hour, values] : observed)
    for (const auto& [quantity, value] : values) wanted.set(quantity);
  wanted = core::with_inputs(wanted);

  ScoredHours scored;
  std::vector<UnitRunPtr> around;  // those that the run at hand can rest on: a few at a time, however many there are
  std::size_t next_row = 0;
  for (const RunRow& row : rows) {
    std::erase_if(around, [&](const UnitRunPtr& other) { return other->reference_time < row.reference_time - kHoursBefore; });
    for (; next_row < rows.size() && rows[next_row].reference_time <= row.reference_time; ++next_row) {
      const auto taken_up = read(rows[next_row]);
      if (!taken_up) return taken_up.errors();
      if (*taken_up) around.push_back(*taken_up);
    }
    const auto at = std::find_if(around.begin(), around.end(), [&](const UnitRunPtr& other) { return other->id == row.id; });
    if (at == around.end()) continue;
    const UnitRunPtr run = *at;
    const auto next = observed.lower_bound(first_hour_from(run->reference_time));
    if (next == observed.end() || next->first >= run->end()) continue;
    const AtIssue issue(unit, run, around, carried, known);
    const Points hours = issue.hours(wanted);
    if (hours.empty() || hours.front().empty()) continue;
    scored.take(unit, *run, hours.front(), observed);
    const LocalDate issued = unit.traits.zone.date(run->reference_time), first = first_foretold(unit, run->reference_time);
    for (const AtIssue::OnDate& on : issue.said(hours)) {
      const auto verdict = verdicts.find(on.date);
      if (on.date < first || verdict == verdicts.end() || core::says_nothing(verdict->second)) continue;
      const bool has_come = verdict->second == core::Verdict::met;
      ScoredWindows& windows = verification.windows[{run->feed, static_cast<int>((on.date - issued).count())}];
      if (on.members) windows.chances.push_back({static_cast<double>(on.members->met) / on.members->of, has_come});
      if (!core::says_nothing(on.weather)) windows.table.count(on.weather == core::Verdict::met, has_come);
    }
  }
  verification.cells = std::move(scored).scores();
  return verification;
}

}  // namespace hakea::service
