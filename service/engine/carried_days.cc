#include "service/engine/carried_days.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <iterator>
#include <map>

#include "core/catalogue/carry.h"
#include "core/catalogue/catalogue.h"
#include "service/base/content_hash.h"
#include "service/engine/carried_json.h"
#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

using std::chrono::days;

// What the carried states are made of.
constexpr std::array<std::string_view, 4> kInputs{"air_temperature", "dew_point_temperature", "wind_speed",
                                                  "precipitation_amount"};

struct Provenance {
  std::string text;
  bool is_observed = true;  // of every input of every hour
};

void write_giver(JsonWriter& out, const UnitWeatherRecord::Giver& giver) {
  if (giver.run)
    out.text("run", giver.run->id).whole("revision", giver.run->revision);
  else if (giver.station)
    out.text("observation", giver.entry);
  else
    out.null("run");
  if (giver.station)
    out.text("station", giver.station->name())
        .tenths("distance_km", giver.station->km)
        .tenths("higher_m", giver.station->higher_m);
}

// What people read on site, by hour and quantity; of the same the last that was entered.
using OnSite = std::map<UtcHour, std::map<std::size_t, const EnteredReading*>>;

OnSite read_on_site(const UnitWeatherRecord& record, UtcHour first, UtcHour end) {
  OnSite read;
  for (const EnteredReading& reading : record.seen().readings())
    if (reading.hour >= first && reading.hour < end) read[reading.hour][reading.quantity] = &reading;
  return read;
}

// Whether an input of the states was read on site; the dew point may have been as humidity.
bool is_read(const OnSite& on_site, UtcHour hour, std::string_view input) {
  const auto read = on_site.find(hour);
  if (read == on_site.end()) return false;
  return read->second.contains(core::quantity_index(input)) ||
         (input == "dew_point_temperature" && read->second.contains(core::quantity_index("relative_humidity")));
}

// Which hours of the record before `end` came from what: [{"from","to","run","revision"}], `run` null for hours that none
// covers, with "station","distance_km","higher_m" for what a station saw; "observation" in place of the run where somebody posted
// it. Where several give an hour, [{"from","to","inputs":{quantity:{…}}}]. Then what was read on site in these hours,
// {"at","quantity","observation"}, and the hash of the state that was entered before them, {"entered"}.
Provenance provenance(const UnitWeatherRecord& record, UtcHour first, UtcHour end, const core::WetnessState* entered) {
  Provenance made;
  const OnSite on_site = read_on_site(record, first, end);
  JsonWriter out;
  out.begin_list();
  for (UtcHour hour = first; hour < end;) {
    const UnitWeatherRecord::Givers givers = record.givers(hour);
    UtcHour next = hour + 1;
    while (next < end && record.givers(next) == givers) next = next + 1;
    out.begin_object().text("from", utc_text(hour.start())).text("to", utc_text(next.start()));
    const UnitWeatherRecord::Giver nobody, *only = &nobody;
    bool is_one = true;
    for (const UnitWeatherRecord::Giver& giver : givers) {
      is_one = is_one && (giver == nobody || *only == nobody || giver == *only);
      if (giver != nobody) only = &giver;
    }
    if (is_one) {
      write_giver(out, *only);
    } else {
      out.key("inputs").begin_object();
      for (std::size_t q = 0; q < kSurfaceQuantities; ++q) {
        if (givers[q] == nobody) continue;
        out.key(kSurfaceKeys[q]).begin_object();
        write_giver(out, givers[q]);
        out.end_object();
      }
      out.end_object();
    }
    out.end_object();
    for (; hour < next; hour = hour + 1)
      for (std::size_t q = 0; q < kSurfaceQuantities; ++q)
        if (std::find(kInputs.begin(), kInputs.end(), kSurfaceKeys[q]) != kInputs.end())
          made.is_observed = made.is_observed && (givers[q].station || is_read(on_site, hour, kSurfaceKeys[q]));
  }
  for (const auto& [hour, read] : on_site)
    for (const auto& [quantity, reading] : read)
      out.begin_object()
          .text("at", utc_text(hour.start()))
          .text("quantity", core::catalogue()[quantity].key)
          .text("observation", reading->entry)
          .end_object();
  if (entered) out.begin_object().text("entered", content_hash(carried_json(*entered))).end_object();
  out.end_list();
  made.text = out.str();
  return made;
}

}  // namespace

const CarriedRow* row_to_begin_with(const Unit& unit, const CarriedDays& carried, UtcHour forecast_begins,
                                    std::chrono::days back) {
  const LocalDate newest = unit.traits.zone.rain_day(forecast_begins.start()) - back;
  const auto after = carried.upper_bound(newest);
  if (after == carried.begin()) return nullptr;
  const auto& [day, row] = *std::prev(after);
  return !unit.initial_state || day > unit.initial_state->as_of ? &row : nullptr;
}

std::optional<core::WetnessState> state_to_begin_with(const Unit& unit, const CarriedDays& carried, UtcHour forecast_begins,
                                                      std::vector<std::string>& troubles, std::chrono::days back) {
  const CarriedRow* row = row_to_begin_with(unit, carried, forecast_begins, back);
  if (!row) return unit.initial_state;
  auto state = parse_carried(row->state, fmt::format("{}, rain day {}", unit.id, date_text(row->rain_day)));
  if (state) return *std::move(state);
  troubles.push_back(fmt::format("{}: {}", state.error().where, state.error().what));
  return unit.initial_state;
}

std::vector<CarriedRow> carried_rows(const UnitWeatherRecord& record, const Unit& unit, const CarriedDays& carried) {
  const TimeZone& zone = unit.traits.zone;
  std::vector<CarriedRow> rows;
  const core::UnitHours whole = record.point_hours(unit, 0, 0, std::nullopt, record.forecast_begins());
  LocalDate day = zone.rain_day(whole.first.start());
  if (record.state()) day = std::max(day, record.state()->as_of + days(1));
  // A record begins with a row of kKeptDays before the forecast: those before it, of a long series observed, are not needed.
  day = std::max(day, zone.rain_day(record.forecast_begins().start()) - kKeptDays - days(1));
  bool is_new = false;  // every row after a new one is new
  for (; zone.rain_day_end(day) <= record.forecast_begins().start(); day += days(1)) {
    const UtcHour end = first_hour_from(zone.rain_day_end(day));
    const bool is_after_entered = unit.initial_state && day == unit.initial_state->as_of + days(1);
    Provenance sources = provenance(record, std::max(whole.first, first_hour_from(zone.rain_day_end(day - days(1)))), end,
                                    is_after_entered ? &*unit.initial_state : nullptr);
    const auto known = carried.find(day);
    // What a forecast says never stands in for what was observed, not even where the observation is no longer at hand.
    if (known != carried.end() && known->second.is_observed && !sources.is_observed) continue;
    if (known != carried.end() && !is_new && known->second.provenance == sources.text) continue;
    is_new = true;
    core::UnitHours hours = record.point_hours(unit, 0, 0, std::nullopt, end);
    core::compute_all(hours, core::rows_of_states());
    if (const auto state = core::carried_state(hours); state && state->as_of == day)
      rows.push_back({unit.id, day, carried_json(*state), std::move(sources.text), sources.is_observed});
  }
  return rows;
}

}  // namespace hakea::service
