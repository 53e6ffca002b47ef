#include "service/store/series.h"

namespace hakea::service {

void put_series(Transaction& transaction, const SeriesKey& key, const Store::NextBlobs& next) {
  drop_series(transaction, {&key, 1});
  transaction.run("INSERT INTO run (id, revision, content_hash) VALUES (?, ?, ?)", {key.run, key.revision, key.content_hash});
  const std::int64_t run = transaction.last_row();
  while (!transaction.has_failed()) {
    const auto blobs = next();
    if (!blobs) return transaction.fail(blobs.error());
    if (blobs->empty()) return;
    for (const SeriesBlob& blob : *blobs)
      transaction.run("INSERT INTO series (run, unit, point, member, bytes) VALUES (?, ?, ?, ?, ?)",
                      {run, blob.unit, blob.point, blob.member, Bytes{blob.bytes}});
  }
}

Result<std::vector<SeriesBlob>> series(Database& series, const SeriesKey& key, std::string_view unit) {
  return series.rows(
      "SELECT s.unit, s.point, s.member, s.bytes FROM run r JOIN series s ON s.run = r.key"
      " WHERE r.id = ? AND r.revision = ? AND r.content_hash = ? AND s.unit = ? ORDER BY s.point, s.member",
      {key.run, key.revision, key.content_hash, unit}, [](const Row& row) {
        return SeriesBlob{row.text(0), static_cast<int>(row.number(1)), static_cast<int>(row.number(2)), row.text(3)};
      });
}

Result<std::vector<SeriesKey>> stored_series(Database& series) {
  return series.rows("SELECT id, revision, content_hash FROM run ORDER BY id, revision, content_hash", {}, [](const Row& row) {
    return SeriesKey{row.text(0), static_cast<int>(row.number(1)), row.text(2)};
  });
}

void drop_series(Transaction& transaction, std::span<const SeriesKey> keys) {
  for (const SeriesKey& key : keys)
    transaction.run("DELETE FROM run WHERE id = ? AND revision = ? AND content_hash = ?",
                    {key.run, key.revision, key.content_hash});
}

}  // namespace hakea::service
