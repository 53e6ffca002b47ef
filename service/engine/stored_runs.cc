#include "service/engine/stored_runs.h"

#include <algorithm>

#include "service/engine/assessment.h"
#include "service/engine/carried_json.h"
#include "service/engine/picture.h"

namespace hakea::service {
namespace {

// Hours before a state are left out of a record: a state that is so much younger than the hours costs little.
constexpr std::chrono::days kStateAfterAtMost{5};

// The first carried state, if the archive's hours begin about then; an entered one from before them.
std::optional<core::WetnessState> state_at(const Unit& unit, const std::vector<CarriedRow>& carried, UtcHour first) {
  const LocalDate begins = unit.traits.zone.rain_day(first.start());
  if (unit.initial_state && unit.initial_state->as_of <= begins + kStateAfterAtMost) return unit.initial_state;
  if (carried.empty() || carried.front().rain_day > begins + kStateAfterAtMost) return std::nullopt;
  auto state = parse_carried(carried.front().state, unit.id);
  return state ? std::optional(*std::move(state)) : std::nullopt;
}

}  // namespace

Result<UnitRunPtr> stored_run(Store& store, const RunRow& row, const ingest::Feed& feed, std::size_t order,
                              const std::string& unit) {
  const auto blobs = store.series(row.id, unit);
  if (!blobs) return blobs.errors();
  if (blobs->empty()) return UnitRunPtr();
  auto run = std::make_shared<UnitRun>(run_of_feed(feed, order, row.reference_time));
  run->id = row.id;
  run->revision = row.revision;
  for (const SeriesBlob& blob : *blobs) {  // by point and member
    auto series = UnitSeries::unpack(blob.bytes, row.id);
    if (!series) return series.errors();
    if (blob.point < 0 || static_cast<std::size_t>(blob.point) > run->points.size())
      return Error{ErrorKind::unreadable, "damaged_series", row.id, "the stored columns lack a point of the unit", ""};
    if (static_cast<std::size_t>(blob.point) == run->points.size()) run->points.emplace_back();
    run->points.back().push_back(*std::move(series));
    run->points.back().back().share_marks_of(run->points.back().front());
  }
  return UnitRunPtr(std::move(run));
}

Result<core::History> archive_history(Store& store, const Config& config, const Unit& unit, const std::set<LocalDate>& holidays,
                                      const EnteredWeather& entered) {
  const auto rows = store.runs();
  if (!rows) return rows.errors();
  std::vector<UnitRunPtr> runs;
  for (const RunRow& row : *rows) {
    const ingest::Feed* const feed = config.feed(row.feed);
    if (!counts(row) || !feed) continue;
    auto run = stored_run(store, row, *feed, config.order_of(*feed), unit.id);
    // Damaged ones are left out: the engine reads them again.
    if (!run && run.error().code != "damaged_series") return run.errors();
    if (!run || !*run || !is_for(**run, unit)) continue;
    auto first = std::make_shared<UnitRun>(**run);  // of several members the first counts
    for (auto& members : first->points)
      if (!first->is_observed) members.resize(1);
    runs.push_back(std::move(first));
  }
  const auto is_observed = [](const UnitRunPtr& run) { return run->is_observed; };
  if (std::all_of(runs.begin(), runs.end(), is_observed)) return core::History();
  const auto carried = store.carried(unit.id);
  if (!carried) return carried.errors();
  UnitWeatherRecord record(runs, entered, unit.points);
  UtcHour first = record.seen().first().value_or(record.runs().front()->first());
  for (const UnitRunPtr& run : record.runs()) first = std::min(first, run->first());
  record.begin_with(state_at(unit, *carried, first));
  return history_of(unit, record.hours(unit, std::nullopt, record.forecast_begins()), {}, {}, holidays);
}

}  // namespace hakea::service
