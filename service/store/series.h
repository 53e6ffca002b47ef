// series.db: the columns of runs. Which of them count is said by state.db alone; nothing here decides it.
#pragma once

#include "service/store/runs.h"
#include "service/store/sqlite.h"
#include "service/store/store.h"

namespace hakea::service {

// All blobs of a run's revision, in place of those put before under the same key.
void put_series(Transaction& transaction, const SeriesKey& key, const Store::NextBlobs& next);
Result<std::vector<SeriesBlob>> series(Database& series, const SeriesKey& key, std::string_view unit);
Result<std::vector<SeriesKey>> stored_series(Database& series);
void drop_series(Transaction& transaction, std::span<const SeriesKey> keys);

}  // namespace hakea::service
