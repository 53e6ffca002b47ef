#include "service/engine/assessment.h"

#include <algorithm>
#include <map>

#include "core/catalogue/catalogue.h"
#include "core/prescription/limit_hours.h"
#include "service/base/workers.h"
#include "service/engine/judge.h"
#include "service/engine/weather_record.h"

namespace hakea::service {
namespace {

using Series = ingest::WeatherTable::Series;

const Series* series_of(const ingest::WeatherTable& table, const std::string& unit) {
  auto found = table.by_unit.find(unit);
  if (found == table.by_unit.end()) found = table.by_unit.find("");
  return found == table.by_unit.end() ? nullptr : &found->second;
}

struct HourSpan {
  std::optional<UtcHour> first, end;
  void include(const Series& series) {
    if (series.hours == 0) return;
    const UtcHour series_end = series.first + static_cast<int>(series.hours);
    first = first ? std::min(*first, series.first) : series.first;
    end = end ? std::max(*end, series_end) : series_end;
  }
};

core::UnitHours hours_of_tables(const Unit& unit, const core::UnitTraits& point,
                                const std::vector<ingest::WeatherTable>& tables) {
  HourSpan span, all;
  for (const auto& table : tables) {
    if (const Series* series = series_of(table, unit.id)) span.include(*series);
    for (const auto& [id, series] : table.by_unit) all.include(series);
  }
  if (!span.first) span = all;
  if (!span.first) return core::UnitHours(point, UtcHour{}, 0);

  core::UnitHours hours(point, *span.first, static_cast<std::size_t>(*span.end - *span.first));
  hours.initial_state = unit.initial_state;
  for (const auto& table : tables) {
    const Series* series = series_of(table, unit.id);
    if (!series) continue;
    const auto offset = static_cast<std::size_t>(series->first - *span.first);
    for (std::size_t k = 0; k < table.keys.size(); ++k) {
      core::Column& readings = hours.readings[core::quantity_index(table.keys[k])];
      if (readings.empty()) {
        readings = core::Column(hours.hours, core::Reason::gap);
        hours.columns[core::quantity_index(table.keys[k])] = readings;  // the table has it, though not for every hour
      }
      for (std::size_t i = 0; i < series->hours; ++i)
        if (const float value = series->values[k][i]; !std::isnan(value))
          readings.set(offset + i, static_cast<double>(value), core::flag::kReading);
    }
  }
  return hours;
}

}  // namespace

ZoneOf zones_of(const std::vector<Unit>& units) {
  std::map<std::string, const TimeZone*, std::less<>> zones;
  for (const Unit& unit : units) zones.emplace(unit.id, &unit.traits.zone);
  return [zones = std::move(zones)](const std::string& id) {
    const auto found = zones.find(id);
    return found == zones.end() ? nullptr : found->second;
  };
}

std::vector<Outlook> assess(std::span<const Unit> units, const District& district, const UnitWeather& weather,
                            const AssessmentCall& call) {
  std::vector<Outlook> outlooks(units.size());
  for_all(units.size(), [&](std::size_t u) {
    const Unit& unit = units[u];
    const core::UnitPlan plan = plan_of(unit, district, call.zone_of, call.neighbours);
    Outlook& outlook = outlooks[u];
    outlook.unit = &unit;
    std::vector<std::vector<core::UnitHours>> points;
    WeatherOfUnit known = weather(unit);
    if (const auto* record = std::get_if<std::shared_ptr<const UnitWeatherRecord>>(&known)) {
      outlook.days = judged_days(**record, unit, plan, call.now);
      if (call.keep_hours)
        for (std::size_t p = 0; p < unit.points.size(); ++p)
          points.emplace_back().push_back((*record)->point_hours(unit, p, 0, std::nullopt));
      points = computed(std::move(points));
    } else {
      points =
          computed(std::get<1>(std::move(known)), call.keep_hours ? core::Rows().set() : core::rows_of_limits(unit.prescription));
      outlook.days = core::evaluate_days({&unit.traits, &unit.prescription, &plan, call.now, call.reference_time, points});
    }
    if (!call.keep_hours) return;
    outlook.hour_fit = core::fit_by_hour({&unit.traits, &unit.prescription, &plan, call.now, call.reference_time, points});
    outlook.hours = std::move(points.front().front());
  });
  return outlooks;
}

core::History history_of(const Unit& unit, std::vector<std::vector<core::UnitHours>> points, std::optional<LocalDate> from,
                         std::optional<LocalDate> to, std::set<LocalDate> holidays) {
  const core::Rows wanted = core::rows_of_limits(unit.prescription);
  for (auto& members : points) core::compute_all(members.front(), wanted);
  return core::history_of({&unit.traits, &unit.prescription, points, from, to, std::move(holidays)});
}

std::vector<std::vector<core::UnitHours>> unit_hours_of_tables(const Unit& unit,
                                                               const std::vector<ingest::WeatherTable>& tables) {
  // The weather is that of the unit, at every point; slope and shelter are the point's own.
  std::vector<std::vector<core::UnitHours>> points;
  for (const core::UnitTraits& point : unit.points) points.emplace_back().push_back(hours_of_tables(unit, point, tables));
  return points;
}

UnitWeather weather_of_tables(const std::vector<ingest::WeatherTable>& tables) {
  return [&tables](const Unit& unit) { return unit_hours_of_tables(unit, tables); };
}

bool have_hours_of(const std::vector<ingest::WeatherTable>& tables, const Unit& unit) {
  return std::any_of(tables.begin(), tables.end(), [&](const auto& table) { return series_of(table, unit.id) != nullptr; });
}

std::optional<UtcHour> first_hour_of(const std::vector<ingest::WeatherTable>& tables) {
  HourSpan span;
  if (!tables.empty())
    for (const auto& [id, series] : tables.front().by_unit) span.include(series);
  return span.first;
}

}  // namespace hakea::service
