// Runs as the store keeps them, read back for one unit.
#pragma once

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

// What the archive says of the hours that have passed: what was seen, else of each hour the run of the shortest lead.
Result<core::History> archive_history(Store& store, const Config& config, const Unit& unit, const std::set<LocalDate>& holidays,
                                      const EnteredWeather& entered);

}  // namespace hakea::service
