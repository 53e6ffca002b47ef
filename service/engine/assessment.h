// From units and their weather to days, many units at a time.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "core/days/evaluate.h"
#include "core/days/history.h"
#include "core/prescription/hour_fit.h"
#include "ingest/station/weather_csv.h"
#include "service/input/district_json.h"
#include "service/input/unit_json.h"

namespace hakea::service {

class UnitWeatherRecord;

// What is known of a unit's weather: a record of runs, which is judged as the service judges it; or a table's hours by point,
// with readings filled and nothing computed yet. Called from several threads at once.
using WeatherOfUnit = std::variant<std::shared_ptr<const UnitWeatherRecord>, std::vector<std::vector<core::UnitHours>>>;
using UnitWeather = std::function<WeatherOfUnit(const Unit&)>;

struct Outlook {
  const Unit* unit = nullptr;
  std::vector<core::Day> days;           // best first
  std::optional<core::UnitHours> hours;  // of the first point and member, when asked for
  std::vector<core::Fit> hour_fit;       // with hours: the worst of the each-hour limits that are not preferences
};

// The zone of a unit by its id, null when there is none of that id.
using ZoneOf = std::function<const TimeZone*(const std::string&)>;
ZoneOf zones_of(const std::vector<Unit>& units);

struct AssessmentCall {
  UtcTime now{};
  UtcTime reference_time{};  // of a weather table
  bool keep_hours = false;
  ZoneOf zone_of;
  Neighbours neighbours{};
};

// One outlook a unit, in the order of the units. Works on all processors; the columns of a unit live only while it is
// worked on, unless its hours are kept.
std::vector<Outlook> assess(std::span<const Unit> units, const District& district, const UnitWeather& weather,
                            const AssessmentCall& call);

// What the past hours of a unit say of its prescription, on the dates asked for; of several members the first counts.
core::History history_of(const Unit& unit, std::vector<std::vector<core::UnitHours>> points, std::optional<LocalDate> from = {},
                         std::optional<LocalDate> to = {}, std::set<LocalDate> holidays = {});

// The hours of a unit from weather tables: every filled cell is a reading, of several the later table's. A unit that no
// table knows gets the hours of all tables, each unknown.
std::vector<std::vector<core::UnitHours>> unit_hours_of_tables(const Unit& unit, const std::vector<ingest::WeatherTable>& tables);
UnitWeather weather_of_tables(const std::vector<ingest::WeatherTable>& tables);

// Whether a table has hours of the unit, its own or those of all units.
bool have_hours_of(const std::vector<ingest::WeatherTable>& tables, const Unit& unit);

// The first hour of the first table.
std::optional<UtcHour> first_hour_of(const std::vector<ingest::WeatherTable>& tables);

}  // namespace hakea::service
