#include "service/store/runs.h"

namespace hakea::service {
namespace {

RunRow run_in(const Row& row) {
  return {row.text(0),        row.text(1), row.instant(2), static_cast<int>(row.number(3)),
          row.text(4),        row.text(5), row.instant(6), row.instant(7),
          row.number(8) != 0, row.text(9)};
}

SeriesKey key_in(const Row& row) { return {row.text(0), static_cast<int>(row.number(1)), row.text(2)}; }

}  // namespace

void put_run(Transaction& transaction, const RunRow& run) {
  transaction.run(
      "INSERT INTO run (id, feed, reference_time, revision, state, content_hash, received_at, computed_at, is_published, details)"
      " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id, revision) DO UPDATE SET feed = excluded.feed,"
      " reference_time = excluded.reference_time, state = excluded.state, content_hash = excluded.content_hash,"
      " received_at = excluded.received_at, computed_at = excluded.computed_at, is_published = excluded.is_published,"
      " is_forgotten = 0, details = excluded.details",
      {run.id, run.feed, run.reference_time, run.revision, run.state, run.content_hash, run.received_at, run.computed_at,
       run.is_published, run.details});
}

Result<std::vector<RunRow>> newest_runs(Database& state) {
  return state.rows(
      "SELECT id, feed, reference_time, revision, state, content_hash, received_at, computed_at, is_published, details FROM run r"
      " WHERE revision = (SELECT max(revision) FROM run WHERE id = r.id) ORDER BY reference_time DESC, id",
      {}, run_in);
}

void put_files(Transaction& transaction, std::span<const FileRow> files) {
  for (const FileRow& file : files)
    transaction.run(
        "INSERT OR REPLACE INTO file (feed, path, size, content_hash, seen_at, state, run, why, hint)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        {file.feed, file.path, file.size, file.content_hash, file.seen_at, file.state, file.run, file.why, file.hint});
}

Result<std::vector<FileRow>> files(Database& state, std::string_view feed) {
  return state.rows(
      "SELECT feed, path, size, content_hash, seen_at, state, run, why, hint FROM file WHERE feed = ? ORDER BY path", {feed},
      [](const Row& row) {
        return FileRow{row.text(0), row.text(1), row.number(2), row.text(3), row.instant(4),
                       row.text(5), row.text(6), row.text(7),   row.text(8)};
      });
}

void put_carried(Transaction& transaction, std::span<const CarriedRow> rows) {
  for (const CarriedRow& row : rows)
    transaction.run(
        "INSERT INTO carried (unit, rain_day, state, provenance, is_observed) VALUES (?, ?, ?, ?, ?)"
        " ON CONFLICT (unit, rain_day) DO UPDATE SET state = excluded.state, provenance = excluded.provenance,"
        " is_observed = excluded.is_observed WHERE excluded.is_observed OR NOT carried.is_observed",
        {row.unit, row.rain_day, row.state, row.provenance, row.is_observed});
}

Result<std::vector<CarriedRow>> carried(Database& state, std::string_view unit) {
  return state.rows("SELECT unit, rain_day, state, provenance, is_observed FROM carried WHERE unit = ? ORDER BY rain_day", {unit},
                    [](const Row& row) {
                      return CarriedRow{row.text(0), row.date(1), row.text(2), row.text(3), row.number(4) != 0};
                    });
}

Result<std::vector<SeriesKey>> visible_series(Database& state) {
  return state.rows(
      "SELECT id, revision, content_hash FROM run WHERE (is_published OR state = 'complete') AND NOT is_forgotten ORDER BY id, "
      "revision",
      {}, key_in);
}

Result<std::optional<SeriesKey>> newest_visible_series(Database& state, std::string_view run) {
  return state.first(
      "SELECT id, revision, content_hash FROM run WHERE id = ? AND (is_published OR state = 'complete') AND NOT is_forgotten "
      "ORDER BY revision DESC "
      "LIMIT 1",
      {run}, key_in);
}

Result<std::vector<RunRow>> newest_visible_runs(Database& state) {
  return state.rows(
      "SELECT id, feed, reference_time, revision, state, content_hash, received_at, computed_at, is_published, details FROM run r"
      " WHERE revision = (SELECT max(revision) FROM run WHERE id = r.id AND (is_published OR state = 'complete') AND NOT "
      "is_forgotten)"
      " ORDER BY reference_time, id",
      {}, run_in);
}

Result<std::vector<SeriesKey>> forgotten_series(Database& state) {
  return state.rows("SELECT id, revision, content_hash FROM run WHERE is_forgotten ORDER BY id, revision", {}, key_in);
}

void forget_runs(Transaction& transaction, UtcTime before) {
  transaction.run("DELETE FROM file WHERE run IN (SELECT id FROM run WHERE reference_time < ?)", {before});
  transaction.run("DELETE FROM file WHERE state = 'refused' AND seen_at < ?", {before});
  transaction.run("UPDATE run SET is_forgotten = 1 WHERE reference_time < ? AND NOT is_forgotten", {before});
}

}  // namespace hakea::service
