#include "tests/support/memory_store.h"

namespace hakea::test {
namespace {
const Error kFailed{ErrorKind::failed, "store_failed", "the store", "a write was made to fail", "try again"};
}

bool MemoryStore::fails() {
  if (fails_in_ == 0 || --fails_in_ > 0) return false;
  ++failures;
  return true;
}

Result<std::vector<Entry>> MemoryStore::write(const Actor& actor, UtcTime now, std::span<const Change> changes,
                                              const KeyedRequest*, const Beside&) {
  const std::lock_guard lock(lock_);
  std::vector<Entry> written;
  for (const Change& change : changes) {
    const std::string id = change.id.empty() ? std::to_string(entries_.size() + 1) : change.id;
    auto& revisions = entries_[{change.kind, id}];
    Entry entry{change.kind,
                id,
                static_cast<int>(revisions.size()) + 1,
                change.body.value_or(revisions.empty() ? "" : revisions.back().body),
                now,
                actor.name,
                !change.body};
    revisions.push_back(entry);
    written.push_back(std::move(entry));
  }
  return written;
}

Result<std::vector<Entry>> MemoryStore::entries(EntryKind kind, bool also_withdrawn) {
  const std::lock_guard lock(lock_);
  std::vector<Entry> all;
  for (const auto& [key, revisions] : entries_)
    if (key.first == kind && (also_withdrawn || !revisions.back().is_withdrawn)) all.push_back(revisions.back());
  return all;
}

Result<std::optional<Entry>> MemoryStore::entry(EntryKind kind, std::string_view id) {
  const std::lock_guard lock(lock_);
  const auto found = entries_.find({kind, std::string(id)});
  return found == entries_.end() ? std::optional<Entry>() : std::optional(found->second.back());
}

Result<std::optional<Entry>> MemoryStore::revision(EntryKind kind, std::string_view id, int revision) {
  const std::lock_guard lock(lock_);
  const auto found = entries_.find({kind, std::string(id)});
  if (found == entries_.end() || revision < 1 || found->second.size() < static_cast<std::size_t>(revision))
    return std::optional<Entry>();
  return std::optional(found->second[static_cast<std::size_t>(revision) - 1]);
}

Result<bool> MemoryStore::put_series(std::string_view run, int revision, std::string_view content_hash, const NextBlobs& next) {
  const std::lock_guard lock(lock_);
  if (fails()) return kFailed;
  ++put_series_calls;
  std::vector<SeriesBlob> all;
  while (true) {
    auto blobs = next();
    if (!blobs) return blobs.errors();
    if (blobs->empty()) break;
    std::move(blobs->begin(), blobs->end(), std::back_inserter(all));
  }
  series_[{std::string(run), revision, std::string(content_hash)}] = std::move(all);
  return true;
}

Result<bool> MemoryStore::publish(const Publication& publication) {
  const std::lock_guard lock(lock_);
  if (fails()) return kFailed;
  ++publications;
  runs_.insert_or_assign({publication.run.id, publication.run.revision}, publication.run);
  for (const FileRow& file : publication.files) files_.insert_or_assign({file.feed, file.path}, file);
  keep_carried(publication.carried);
  return true;
}

Result<std::vector<RunRow>> MemoryStore::runs() {
  const std::lock_guard lock(lock_);
  std::map<std::pair<UtcTime, std::string>, RunRow, std::greater<>> newest;
  for (const auto& [key, run] : runs_) newest.insert_or_assign({run.reference_time, run.id}, run);
  std::vector<RunRow> rows;
  for (const auto& [key, run] : newest) rows.push_back(run);
  return rows;
}

Result<std::vector<SeriesBlob>> MemoryStore::series(std::string_view run, std::string_view unit) {
  const std::lock_guard lock(lock_);
  std::vector<SeriesBlob> blobs;
  const RunRow* visible = nullptr;
  for (const auto& [key, row] : runs_)
    if (row.id == run && (row.is_published || row.state == "complete")) visible = &row;
  if (!visible) return blobs;
  const auto found = series_.find({visible->id, visible->revision, visible->content_hash});
  if (found != series_.end())
    for (const SeriesBlob& blob : found->second)
      if (blob.unit == unit) blobs.push_back(blob);
  return blobs;
}

Result<std::vector<RunRow>> MemoryStore::runs_without_series() {
  const std::lock_guard lock(lock_);
  std::vector<RunRow> lost;
  for (const auto& [key, row] : runs_)
    if (row.is_published && !series_.contains({row.id, row.revision, row.content_hash})) lost.push_back(row);
  return lost;
}

Result<bool> MemoryStore::note_files(std::span<const FileRow> files) {
  const std::lock_guard lock(lock_);
  if (fails()) return kFailed;
  for (const FileRow& file : files) files_.insert_or_assign({file.feed, file.path}, file);
  return true;
}

Result<std::vector<FileRow>> MemoryStore::files(std::string_view feed) {
  const std::lock_guard lock(lock_);
  std::vector<FileRow> rows;
  for (const auto& [key, file] : files_)
    if (file.feed == feed) rows.push_back(file);
  return rows;
}

Result<std::vector<CarriedRow>> MemoryStore::carried(std::string_view unit) {
  const std::lock_guard lock(lock_);
  std::vector<CarriedRow> rows;
  for (const auto& [key, row] : carried_)
    if (row.unit == unit) rows.push_back(row);
  return rows;
}

Result<bool> MemoryStore::put_carried(std::span<const CarriedRow> rows) {
  const std::lock_guard lock(lock_);
  if (fails()) return kFailed;
  keep_carried(rows);
  return true;
}

void MemoryStore::keep_carried(std::span<const CarriedRow> rows) {
  for (const CarriedRow& row : rows) {
    const auto found = carried_.find({row.unit, row.rain_day});
    if (found != carried_.end() && found->second.is_observed && !row.is_observed) continue;
    carried_.insert_or_assign({row.unit, row.rain_day}, row);
  }
}

}  // namespace hakea::test
