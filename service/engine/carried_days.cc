#include "service/engine/carried_days.h"

#include <fmt/format.h>

#include "core/catalogue/carry.h"
#include "core/catalogue/catalogue.h"
#include "service/engine/carried_json.h"
#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

using std::chrono::days;

// Which hours of the record before `end` came from which run: [{"from","to","run"}], null for hours that none covers.
std::string provenance(const UnitWeatherRecord& record, UtcHour first, UtcHour end) {
  JsonWriter out;
  out.begin_list();
  for (UtcHour hour = first; hour < end;) {
    const UnitRun* run = record.source(hour);
    UtcHour next = hour + 1;
    while (next < end && record.source(next) == run) next = next + 1;
    out.begin_object().text("from", utc_text(hour.start())).text("to", utc_text(next.start()));
    if (run)
      out.text("run", run->id).whole("revision", run->revision);
    else
      out.null("run");
    out.end_object();
    hour = next;
  }
  out.end_list();
  return out.str();
}

}  // namespace

std::optional<core::WetnessState> state_to_begin_with(const Unit& unit, const CarriedDays& carried, UtcHour forecast_begins,
                                                      std::vector<std::string>& troubles, std::chrono::days back) {
  const TimeZone& zone = unit.traits.zone;
  const LocalDate newest = zone.rain_day(forecast_begins.start()) - back;
  const auto& entered = unit.initial_state;
  const CarriedRow* best = nullptr;
  for (const auto& [day, row] : carried)
    if (day <= newest && (!entered || day > entered->as_of)) best = &row;
  if (!best) return entered;
  auto state = parse_carried(best->state, fmt::format("{}, rain day {}", unit.id, date_text(best->rain_day)));
  if (state) return *std::move(state);
  troubles.push_back(fmt::format("{}: {}", state.error().where, state.error().what));
  return entered;
}

std::vector<CarriedRow> carried_rows(const UnitWeatherRecord& record, const Unit& unit, const CarriedDays& carried) {
  const TimeZone& zone = unit.traits.zone;
  std::vector<CarriedRow> rows;
  const core::UnitHours whole = record.point_hours(unit, 0, 0, std::nullopt, record.forecast_begins());
  LocalDate day = zone.rain_day(whole.first.start());
  if (record.state()) day = std::max(day, record.state()->as_of + days(1));
  bool is_new = false;  // every row after a new one is new
  for (; zone.rain_day_end(day) <= record.forecast_begins().start(); day += days(1)) {
    const UtcHour end = first_hour_from(zone.rain_day_end(day));
    std::string sources = provenance(record, std::max(whole.first, first_hour_from(zone.rain_day_end(day - days(1)))), end);
    const auto known = carried.find(day);
    if (known != carried.end() && (known->second.is_observed || (!is_new && known->second.provenance == sources))) continue;
    is_new = true;
    core::UnitHours hours = record.point_hours(unit, 0, 0, std::nullopt, end);
    core::compute_all(hours);
    if (const auto state = core::carried_state(hours); state && state->as_of == day)
      rows.push_back({unit.id, day, carried_json(*state), std::move(sources), false});
  }
  return rows;
}

}  // namespace hakea::service
