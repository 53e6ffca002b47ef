// DAY, HOURS and RUN of INTERFACE §5 as JSON.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/days/day.h"
#include "core/prescription/hour_fit.h"
#include "ingest/run/forecast_run.h"
#include "service/input/unit_json.h"
#include "service/input/ventilation_table.h"
#include "service/output/json_writer.h"

namespace hakea::service {

struct RunNote {
  std::string id, feed;
  UtcTime reference_time{};
  std::optional<UtcTime> received_at, computed_at, next_expected;
  std::string state = "complete";
  int revision = 1;
};

// Where a feed was read for a unit.
struct SamplingNote {
  std::string feed;
  double latitude_deg = 0, longitude_deg = 0;
  Metres model_elevation, unit_elevation;
  ingest::Sea sea = ingest::Sea::unknown;  // in the feed's grid there
  std::string station{};                   // that saw it; empty for what was foretold
  double distance_km = 0;
};

void write_window(JsonWriter& out, const core::Window& window, const core::Prescription& prescription, const TimeZone& zone);
void write_day(JsonWriter& out, const core::Day& day, const core::Prescription& prescription, const TimeZone& zone);
// `quantities`: catalogue indices; `fit` by hour. The ventilation index is also named by the tables.
void write_hours(JsonWriter& out, const core::UnitHours& hours, const std::vector<std::size_t>& quantities,
                 const std::vector<core::Fit>& fit, const std::vector<SamplingNote>& sampling,
                 const VentilationTables& ventilation = built_in_ventilation());
// Their parts: the value of member `flags` of a quantity, and the members `missing` and `sampling` of all.
void write_flags(JsonWriter& out, const core::QuantityRow& row, const core::UnitHours& hours);
void write_missing(JsonWriter& out, const core::UnitHours& hours, const std::vector<std::size_t>& quantities);
void write_sampling(JsonWriter& out, const std::vector<SamplingNote>& sampling);
void write_run(JsonWriter& out, const RunNote& run);

// The maximal stretches of hours for which `is` holds, as half-open index ranges.
template <class Is>
void write_ranges(JsonWriter& out, std::string_view name, std::size_t hours, Is&& is) {
  out.key(name).begin_list();
  for (std::size_t i = 0; i < hours; ++i) {
    if (!is(i)) continue;
    const std::size_t from = i;
    while (i < hours && is(i)) ++i;
    out.begin_list().whole(static_cast<long long>(from)).whole(static_cast<long long>(i)).end_list();
  }
  out.end_list();
}

// Member `limit` of a limit that a value is held against.
void write_limit(JsonWriter& out, const core::Limit& limit, std::optional<double> value);
// The bounds of a limit that bear on a value: the one it breaks, else the nearer one; all of them for no value.
core::Range bounds_that_matter(const core::Range& range, std::optional<double> value);

std::string_view word(core::Fit fit);

}  // namespace hakea::service
