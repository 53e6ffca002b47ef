#include "service/engine/snapshot.h"

#include <spdlog/spdlog.h>

#include <algorithm>

#include "service/engine/judge.h"

namespace hakea::service {
namespace {

constexpr double kRarityUntilKnown = 0.5;

double rarity_of(const UnitView& view) {
  return (view.history ? view.history->rarity() : std::nullopt).value_or(kRarityUntilKnown);
}

// What `over` knows, and where it knows nothing the hours below it.
core::UnitHours put_over(core::UnitHours below, const core::UnitHours& over) {
  const int shift = over.first - below.first;
  for (std::size_t q = 0; q < below.columns.size(); ++q)
    for (std::size_t i = 0; i < below.hours; ++i) {
      const int k = static_cast<int>(i) - shift;
      if (k < 0 || k >= static_cast<int>(over.hours)) continue;
      const core::Column& column = over.columns[q];
      const auto at = static_cast<std::size_t>(k);
      if (!column.is_missing(at)) below.columns[q].set(i, static_cast<double>(column[at]), column.flags(at));
    }
  return below;
}

}  // namespace

std::string_view word(Freshness freshness) {
  switch (freshness) {
    case Freshness::current: return "current";
    case Freshness::late: return "late";
    case Freshness::stale: return "stale";
  }
  return "";
}

RunNote run_note(const RunRow& run, std::optional<UtcTime> next_expected) {
  const auto if_known = [](UtcTime t) { return t == UtcTime{} ? std::nullopt : std::optional(t); };
  return {.id = run.id,
          .feed = run.feed,
          .reference_time = run.reference_time,
          .received_at = if_known(run.received_at),
          .computed_at = if_known(run.computed_at),
          .next_expected = next_expected,
          .state = run.state,
          .revision = run.revision};
}

const UnitView* Snapshot::unit(std::string_view id) const {
  const auto found = units.find(id);
  return found == units.end() ? nullptr : found->second.get();
}

const UnitView* Snapshot::unit_or_retired(std::string_view id) const {
  if (const UnitView* view = unit(id)) return view;
  const auto found = retired.find(id);
  return found == retired.end() ? nullptr : found->second.get();
}

WeatherRecordPtr whole_weather_of(const UnitView& view) {
  if (!view.weather) return nullptr;
  auto record = whole(view.weather);
  if (record) return *std::move(record);
  spdlog::error("unit {}: {}: {}", view.unit.id, record.error().where, record.error().what);
  return nullptr;
}

std::vector<std::vector<core::UnitHours>> hours_of(const UnitView& view) {
  const WeatherRecordPtr record = whole_weather_of(view);
  if (!record) return {};
  return computed(record->hours(view.unit, std::nullopt));
}

std::vector<std::vector<core::UnitHours>> hours_of_all_feeds(const UnitView& view, Members which) {
  const WeatherRecordPtr record = whole_weather_of(view);
  if (!record) return {};
  const auto hours_of_feed = [&](std::optional<std::size_t> feed) {
    Points points = record->hours(view.unit, feed);
    if (which == Members::first)
      for (auto& members : points) members.erase(members.begin() + 1, members.end());
    return computed(std::move(points));
  };
  Points points = hours_of_feed(std::nullopt);
  if (record->newest().size() < 2) return points;
  std::vector<core::UnitHours> main;
  for (const auto& members : points) main.push_back(members.front());
  for (const UnitRunPtr& run : record->newest()) {
    const Points of_feed = hours_of_feed(run->order);
    for (std::size_t p = 0; p < points.size(); ++p)
      for (const core::UnitHours& member : of_feed[p]) points[p].push_back(put_over(main[p], member));
  }
  return points;
}

Result<std::vector<std::vector<core::UnitHours>>> hours_of(const UnitView& view, std::string_view run) {
  std::string known;
  if (const WeatherRecordPtr record = whole_weather_of(view))
    for (const UnitRunPtr& newest : record->newest()) {
      if (newest->id == run) return computed(record->hours(view.unit, newest->order));
      known += (known.empty() ? "" : ", ") + newest->id;
    }
  return Error{ErrorKind::not_found, "not_found", "run", "the hours of run " + std::string(run) + " are not at hand",
               known.empty() ? "there is no run yet" : "at hand: " + known};
}

std::vector<core::Day> trial_days(const Snapshot& snapshot, const UnitView& view, const core::Prescription& prescription) {
  const WeatherRecordPtr record = whole_weather_of(view);
  if (!record) return {};
  Unit unit = view.unit;
  give_prescription(unit, prescription);
  return judged_days(*record, unit, plan_of_unit(snapshot, unit), snapshot.now);
}

core::UnitPlan plan_of_unit(const Snapshot& snapshot, const Unit& unit) {
  static const District kNone;
  const auto district = snapshot.districts.find(unit.district);
  return plan_of(
      unit, district == snapshot.districts.end() ? kNone : district->second.district,
      [&](const std::string& id) -> const TimeZone* {
        for (const auto* units : {&snapshot.units, &snapshot.retired})
          if (const auto found = units->find(id); found != units->end()) return &found->second->unit.traits.zone;
        return nullptr;
      },
      snapshot.neighbours);
}

const core::Day* day_on(const UnitView& view, LocalDate date) {
  const auto found = std::find_if(view.days.begin(), view.days.end(), [&](const core::Day& day) { return day.date == date; });
  return found == view.days.end() ? nullptr : &*found;
}

std::optional<double> met_days_a_year(const UnitView& view) {
  const auto rarity = view.history ? view.history->rarity() : std::nullopt;
  return rarity ? std::optional((1 - *rarity) * 366) : std::nullopt;
}

core::UnitOnDay standing_on(const UnitView& view, LocalDate date) {
  return {.id = view.unit.id,
          .name = view.unit.name,
          .priority = view.unit.priority,
          .rarity = rarity_of(view),
          .day = day_on(view, date),
          .prescription = &view.unit.prescription,
          .traits = &view.unit.traits};
}

std::vector<const UnitView*> ranked_units(const Snapshot& snapshot, LocalDate date) {
  std::vector<const UnitView*> units;
  for (const auto& [id, view] : snapshot.units)
    if (day_on(*view, date)) units.push_back(view.get());
  std::sort(units.begin(), units.end(), [&](const UnitView* a, const UnitView* b) {
    return core::ranks_before(standing_on(*a, date), standing_on(*b, date));
  });
  return units;
}

}  // namespace hakea::service
