// The part of state.db that the engine fills: runs, files, carried states. What each function does stands in store.h; those
// with a Transaction leave their failure in it.
#pragma once

#include "service/store/sqlite.h"
#include "service/store/store.h"

namespace hakea::service {

void put_run(Transaction& transaction, const RunRow& run);
Result<std::vector<RunRow>> newest_runs(Database& state);
void put_files(Transaction& transaction, std::span<const FileRow> files);
Result<std::vector<FileRow>> files(Database& state, std::string_view feed);
void put_carried(Transaction& transaction, std::span<const CarriedRow> rows);
Result<std::vector<CarriedRow>> carried(Database& state, std::string_view unit);

// A set of series is named by what it was computed for and from.
struct SeriesKey {
  std::string run;
  int revision = 0;
  std::string content_hash;
  friend auto operator<=>(const SeriesKey&, const SeriesKey&) = default;
};
// Series that count: of every published revision, without those forgotten.
Result<std::vector<SeriesKey>> visible_series(Database& state);
Result<std::optional<SeriesKey>> newest_visible_series(Database& state, std::string_view run);
Result<std::vector<RunRow>> newest_visible_runs(Database& state);  // oldest first
Result<std::vector<SeriesKey>> forgotten_series(Database& state);
// From now on the series of runs before an instant do not count.
void forget_runs(Transaction& transaction, UtcTime before);

}  // namespace hakea::service
