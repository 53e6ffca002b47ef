// Runs as the store keeps them, read back for one unit.
#pragma once

#include <functional>
#include <set>
#include <string>
#include <vector>

#include "core/days/history.h"
#include "service/engine/weather_record.h"
#include "service/input/config.h"
#include "service/store/store.h"

namespace hakea::service {

// A unit's columns of a run of a feed; null where the store has none. `order`: of the feed in the configuration. Error also:
// `damaged_series`.
Result<UnitRunPtr> stored_run(Store& store, const RunRow& row, const ingest::Feed& feed, std::size_t order,
                              const std::string& unit);

// All runs that count and were read for the points the unit has now, with reference times in [from, to), oldest first. `rows`
// newest first. Damaged ones are left out: the engine reads them again.
using RunSource = std::function<Result<UnitRunPtr>(const RunRow& row, const ingest::Feed& feed, std::size_t order)>;
Result<std::vector<UnitRunPtr>> runs_of(const std::vector<RunRow>& rows, const Config& config, const Unit& unit, UtcTime from,
                                        UtcTime to, const RunSource& read);

// What the archive says of the hours that have passed: what was seen, else of each hour the run of the shortest lead.
Result<core::History> archive_history(Store& store, const Config& config, const Unit& unit, const std::set<LocalDate>& holidays,
                                      const EnteredWeather& entered);

}  // namespace hakea::service
