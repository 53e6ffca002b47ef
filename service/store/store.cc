// The two databases joined: who waits for whom, what is told when writing fails, and which series count.
#include "service/store/store.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <mutex>

#include "service/store/alerts.h"
#include "service/store/backup.h"
#include "service/store/calendars.h"
#include "service/store/deeds.h"
#include "service/store/entries.h"
#include "service/store/runs.h"
#include "service/store/schema.h"
#include "service/store/series.h"
#include "service/store/sessions.h"

namespace hakea::service {
namespace {

namespace fs = std::filesystem;

// A database with a connection to write and one to read, so that no reader waits for an fsync.
struct File {
  File(Database to_write, Database to_read) : writer(std::move(to_write)), reader(std::move(to_read)) {}
  std::mutex writing, reading;
  Database writer, reader;

  template <class Read>
  auto read(Read work) {
    const std::lock_guard lock(reading);
    return work(reader);
  }
};

Result<std::unique_ptr<File>> open_file(const std::string& path, Migrations migrations,
                                        const std::function<Result<bool>(int version)>& before) {
  auto writer = Database::open(path, Database::Use::write);
  if (!writer) return writer.errors();
  const auto ready = migrate(*writer, migrations, before);
  if (!ready) return ready.errors();
  auto reader = Database::open(path, Database::Use::read);
  if (!reader) return reader.errors();
  return std::make_unique<File>(*std::move(writer), *std::move(reader));
}

Result<std::unique_ptr<File>> open_state(const std::string& folder, UtcTime now) {
  const std::string path = folder + '/' + kStateFile;
  auto state = open_file(path, state_migrations(), [&](int version) -> Result<bool> {
    const std::string backup = fmt::format("{}.version-{}-{}", path, version, stamp(now));
    if (fs::exists(backup)) return true;  // from a start in this second that went no further
    return copy_checked(path, backup, state_migrations());
  });
  if (!state) return state.errors();
  const auto findings = (*state)->reader.rows("PRAGMA quick_check(1)", {}, [](const Row& row) { return row.text(0); });
  if (!findings) return findings.errors();
  if (*findings != std::vector<std::string>{"ok"})
    return Error{ErrorKind::unreadable, "damaged_database", path, "the database is damaged: " + findings->front(),
                 "restore the newest backup"};
  return state;
}

Result<std::unique_ptr<File>> open_series(const std::string& folder, UtcTime now) {
  const std::string path = folder + '/' + kSeriesFile;
  const auto open = [&] {
    auto file = open_file(path, series_migrations(), [](int) { return Result<bool>(true); });
    if (!file) return file;
    if (const auto readable = stored_series((*file)->reader); !readable) file = readable.errors();
    return file;
  };
  auto series = open();
  if (series || series.error().code != "damaged_database") return series;
  // It can be computed again: runs_without_series() then names every run.
  const std::string aside = fmt::format("{}.damaged-{}", path, stamp(now));
  std::error_code failed;
  fs::rename(path, aside, failed);
  if (failed) return series;
  for (const char* companion : {"-wal", "-shm"}) fs::remove(path + companion, failed);
  return open();
}

class SqliteStore final : public Store, public AlertStore, public CalendarStore {
 public:
  SqliteStore(std::optional<FolderLock> lock, std::string folder, std::unique_ptr<File> state, std::unique_ptr<File> series)
      : lock_(std::move(lock)), folder_(std::move(folder)), state_(std::move(state)), series_(std::move(series)) {}

  // Series without a published run are what a run left that was not published before the end.
  Result<bool> drop_unseen_series() {
    const auto seen = state_->read(visible_series);
    if (!seen) return seen.errors();
    auto stored = series_->read(stored_series);
    if (!stored) return stored.errors();
    std::erase_if(*stored, [&](const SeriesKey& key) { return std::binary_search(seen->begin(), seen->end(), key); });
    (void)drop(*stored);  // a full disk keeps nobody from starting: it shows as trouble, and these do not count anyway
    return true;
  }

  Result<std::vector<Entry>> write(const Actor& actor, UtcTime now, std::span<const Change> changes, const KeyedRequest* request,
                                   const Beside& beside) override {
    std::vector<Entry> written;
    const auto done = write_to(*state_, [&](Transaction& t) {
      written = write_entries(t, actor, now, changes);
      if (request) add_deed(t, *request, now, written);
      if (beside && !t.has_failed()) commit_alerts(t, beside(written));
    });
    if (!done) return done.errors();
    return written;
  }
  Result<std::optional<KeyedDeed>> deed(std::string_view caller, std::string_view key, UtcTime now) override {
    return state_->read([&](Database& state) { return service::deed(state, caller, key, now); });
  }
  Result<bool> keep_answer(const KeyedRequest& request, const KeyedDeed::Answer& answer) override {
    return write_to(*state_, [&](Transaction& t) { service::keep_answer(t, request, answer); });
  }
  Result<std::vector<Entry>> entries(EntryKind kind, bool also_withdrawn) override {
    return state_->read([&](Database& state) { return service::entries(state, kind, also_withdrawn); });
  }
  Result<std::optional<Entry>> entry(EntryKind kind, std::string_view id) override {
    return state_->read([&](Database& state) { return service::entry(state, kind, id); });
  }
  Result<std::optional<Entry>> revision(EntryKind kind, std::string_view id, int revision) override {
    return state_->read([&](Database& state) { return service::revision(state, kind, id, revision); });
  }
  Result<std::vector<AuditRow>> audit(std::int64_t before_seq, int at_most) override {
    return state_->read([&](Database& state) { return service::audit(state, before_seq, at_most); });
  }
  Result<std::int64_t> last_change() override {
    return state_->read([](Database& state) { return state.number("SELECT coalesce(max(seq), 0) FROM audit"); });
  }
  Result<bool> add_audit(const Actor& actor, UtcTime now, std::string action, std::string object, std::string reason) override {
    return write_to(*state_, [&](Transaction& t) {
      service::add_audit(t, actor, now, {.action = action, .object = object, .reason = reason});
    });
  }

  Result<bool> add_token(const Actor& actor, UtcTime now, const Token& token) override {
    return write_to(*state_, [&](Transaction& t) { service::add_token(t, actor, now, token); });
  }
  Result<std::vector<Token>> tokens() override { return state_->read(service::tokens); }
  Result<std::optional<Token>> token(std::string_view id) override {
    return state_->read([&](Database& state) { return service::token(state, id); });
  }
  Result<bool> revoke_token(const Actor& actor, UtcTime now, std::string_view id) override {
    return write_to(*state_, [&](Transaction& t) { service::revoke_token(t, actor, now, id); });
  }
  Result<bool> token_used(std::string_view id, UtcTime now) override {
    const UtcTime minute = std::chrono::floor<std::chrono::minutes>(now);
    const auto known = token(id);
    if (!known) return known.errors();
    if (!*known || ((*known)->last_used_at && (*known)->last_used_at >= minute)) return true;
    return write_to(*state_, [&](Transaction& t) { t.run("UPDATE token SET last_used_at = ? WHERE id = ?", {minute, id}); });
  }

  Result<bool> add_session(const Actor& actor, const PageSession& session, UtcTime oldest) override {
    return write_to(*state_, [&](Transaction& t) { service::add_session(t, actor, session, oldest); });
  }
  Result<std::optional<PageSession>> session(std::string_view id_hash) override {
    return state_->read([&](Database& state) { return service::session(state, id_hash); });
  }
  Result<bool> session_seen(std::string_view id_hash, UtcTime now) override {
    const UtcTime minute = std::chrono::floor<std::chrono::minutes>(now);
    const auto known = session(id_hash);
    if (!known) return known.errors();
    if (!*known || (*known)->seen_at >= minute) return true;
    return write_to(*state_, [&](Transaction& t) {
      t.run("UPDATE session SET seen_at = ? WHERE id_hash = ?", {minute, id_hash});
    });
  }
  Result<bool> end_session(const Actor& actor, UtcTime now, std::string_view id_hash) override {
    return write_to(*state_, [&](Transaction& t) { service::end_session(t, actor, now, id_hash); });
  }

  Result<bool> put_series(std::string_view run, int revision, std::string_view content_hash, const NextBlobs& next) override {
    const SeriesKey key{std::string(run), revision, std::string(content_hash)};
    return write_to(*series_, [&](Transaction& t) { service::put_series(t, key, next); });
  }
  Result<bool> publish(const Publication& publication) override {
    return write_to(*state_, [&](Transaction& t) {
      put_run(t, publication.run);
      put_files(t, publication.files);
      service::put_carried(t, publication.carried);
    });
  }
  Result<std::vector<RunRow>> runs() override { return state_->read(newest_runs); }
  Result<std::vector<SeriesBlob>> series(std::string_view run, std::string_view unit) override {
    const auto key = state_->read([&](Database& state) { return newest_visible_series(state, run); });
    if (!key) return key.errors();
    if (!*key) return std::vector<SeriesBlob>();
    return series_->read([&](Database& series) { return service::series(series, **key, unit); });
  }
  Result<std::vector<RunRow>> runs_without_series() override {
    auto runs = state_->read(newest_visible_runs);
    if (!runs) return runs.errors();
    const auto stored = series_->read(stored_series);
    if (!stored) return stored.errors();
    std::erase_if(*runs, [&](const RunRow& run) {
      return std::binary_search(stored->begin(), stored->end(), SeriesKey{run.id, run.revision, run.content_hash});
    });
    return runs;
  }
  Result<bool> note_files(std::span<const FileRow> files) override {
    return write_to(*state_, [&](Transaction& t) { put_files(t, files); });
  }
  Result<std::vector<FileRow>> files(std::string_view feed) override {
    return state_->read([&](Database& state) { return service::files(state, feed); });
  }
  Result<std::vector<CarriedRow>> carried(std::string_view unit) override {
    return state_->read([&](Database& state) { return service::carried(state, unit); });
  }
  Result<bool> put_carried(std::span<const CarriedRow> rows) override {
    return write_to(*state_, [&](Transaction& t) { service::put_carried(t, rows); });
  }
  Result<bool> forget_series(UtcTime before) override {
    const auto done = write_to(*state_, [&](Transaction& t) { forget_runs(t, before); });
    if (!done) return done;
    // They do not count any more. What cannot be dropped now is dropped by the next call or at the next start; until then
    // it shows as trouble.
    const auto forgotten = state_->read(forgotten_series);
    auto stored = series_->read(stored_series);
    if (!forgotten || !stored) return true;
    std::erase_if(*stored, [&](const SeriesKey& key) { return !std::binary_search(forgotten->begin(), forgotten->end(), key); });
    (void)drop(*stored);
    return true;
  }

  Result<std::optional<std::string>> note(std::string_view key) override {
    return state_->read([&](Database& state) {
      return state.first("SELECT value FROM note WHERE key = ?", {key}, [](const Row& row) { return row.text(0); });
    });
  }
  Result<bool> set_note(std::string_view key, std::string_view value) override {
    return write_to(*state_, [&](Transaction& t) {
      t.run("INSERT OR REPLACE INTO note (key, value) VALUES (?, ?)", {key, value});
    });
  }

  AlertStore* alerts() override { return this; }
  Result<std::map<std::string, std::string>> memory() override { return state_->read(alert_memory); }
  Result<bool> commit(const AlertCommit& commit) override {
    return write_to(*state_, [&](Transaction& t) { commit_alerts(t, commit); });
  }
  Result<std::vector<EventRow>> events_after(std::int64_t seq, int at_most) override {
    return state_->read([&](Database& state) { return service::events_after(state, seq, at_most); });
  }
  Result<std::vector<EventRow>> events_before(std::int64_t seq, int at_most) override {
    return state_->read([&](Database& state) { return service::events_before(state, seq, at_most); });
  }
  Result<std::optional<EventRow>> event(std::string_view id) override {
    return state_->read([&](Database& state) { return alert_event(state, id); });
  }
  Result<std::pair<std::int64_t, std::int64_t>> event_range() override { return state_->read(service::event_range); }
  Result<bool> acknowledge(const Actor& actor, UtcTime now, std::string_view event) override {
    return write_to(*state_, [&](Transaction& t) { acknowledge_event(t, actor, now, event); });
  }
  Result<std::set<std::string>> acknowledged() override { return state_->read(acknowledged_events); }
  Result<std::vector<DeliveryRow>> lease(UtcTime now, UtcTime until, int at_most, const std::set<std::string>& busy) override {
    std::vector<DeliveryRow> taken;
    const auto done = write_to(*state_, [&](Transaction& t) { taken = lease_deliveries(t, now, until, at_most, busy); });
    if (!done) return done.errors();
    return taken;
  }
  Result<bool> settle(const DeliveryRow& delivery, const ChannelRow& channel) override {
    return write_to(*state_, [&](Transaction& t) { settle_delivery(t, delivery, channel); });
  }
  Result<bool> release_leases() override {
    return write_to(*state_, [](Transaction& t) { service::release_leases(t); });
  }
  Result<std::vector<DeliveryRow>> deliveries(const DeliveryQuery& query) override {
    return state_->read([&](Database& state) { return service::deliveries(state, query); });
  }
  Result<std::optional<DeliveryRow>> delivery(std::string_view id) override {
    return state_->read([&](Database& state) { return service::delivery(state, id); });
  }
  Result<Backlog> outbox() override { return state_->read(service::outbox); }
  Result<bool> replay(const Actor& actor, UtcTime now, UtcTime expires_at, std::string_view id) override {
    return write_to(*state_, [&](Transaction& t) { replay_delivery(t, actor, now, expires_at, id); });
  }
  Result<std::vector<ChannelRow>> channels() override { return state_->read(service::channels); }
  Result<bool> put_channel(const ChannelRow& channel) override {
    return write_to(*state_, [&](Transaction& t) { service::put_channel(t, channel); });
  }
  Result<bool> forget_alerts(UtcTime before) override {
    return write_to(*state_, [&](Transaction& t) { service::forget_alerts(t, before); });
  }

  CalendarStore* calendars() override { return this; }
  Result<CalendarRow> add_calendar(const Actor& actor, UtcTime now, CalendarRow calendar) override {
    CalendarRow made;
    const auto done =
        write_to(*state_, [&](Transaction& t) { made = service::add_calendar(t, actor, now, std::move(calendar)); });
    if (!done) return done.errors();
    return made;
  }
  Result<std::vector<CalendarRow>> all_calendars() override { return state_->read(service::all_calendars); }
  Result<std::optional<CalendarRow>> calendar(std::string_view id) override {
    return state_->read([&](Database& state) { return service::calendar(state, id); });
  }
  Result<std::optional<CalendarRow>> calendar_of_link(std::string_view link_hash) override {
    return state_->read([&](Database& state) { return service::calendar_of_link(state, link_hash); });
  }
  Result<bool> take_back_calendar(const Actor& actor, UtcTime now, std::string_view id) override {
    return write_to(*state_, [&](Transaction& t) { service::take_back_calendar(t, actor, now, id); });
  }
  Result<std::vector<CalendarEntryRow>> calendar_entries(const CalendarRow& calendar) override {
    return state_->read([&](Database& state) { return service::calendar_entries(state, calendar); });
  }
  Result<std::vector<CalendarEntryRow>> calendar_entries_of(std::string_view unit) override {
    return state_->read([&](Database& state) { return service::calendar_entries_of(state, unit); });
  }
  Result<std::vector<std::string>> units_in_calendars() override { return state_->read(service::units_in_calendars); }
  Result<bool> commit_calendars(const CalendarCommit& commit) override {
    return write_to(*state_, [&](Transaction& t) { service::commit_calendars(t, commit); });
  }

  Result<bool> backup(const std::string& path) override { return back_up(folder_, path); }

  std::string trouble() const override {
    const std::lock_guard lock(telling_);
    return trouble_;
  }

 private:
  template <class Work>
  Result<bool> write_to(File& file, Work work) {
    const std::lock_guard lock(file.writing);
    Transaction transaction(file.writer);
    work(transaction);
    auto done = transaction.commit();
    note_trouble(done);
    return done;
  }

  // A refused change (`changed_meanwhile`, …) says nothing about the disk.
  void note_trouble(const Result<bool>& done) {
    const std::lock_guard lock(telling_);
    if (done) {
      trouble_.clear();
    } else if (const Error& error = done.error(); error.kind == ErrorKind::failed) {
      trouble_ = fmt::format("{}: {}; {}", error.where, error.what, error.hint);
    }
  }

  Result<bool> drop(std::span<const SeriesKey> keys) {
    if (keys.empty()) return true;
    return write_to(*series_, [&](Transaction& t) { drop_series(t, keys); });
  }

  std::optional<FolderLock> lock_;  // none beside a service that holds it
  const std::string folder_;
  std::unique_ptr<File> state_, series_;
  mutable std::mutex telling_;
  std::string trouble_;
};

}  // namespace

Result<std::unique_ptr<Store>> Store::open(const std::string& folder, UtcTime now) {
  if (auto made = make_folder(folder); !made) return made.errors();
  auto lock = FolderLock::take(folder);
  if (!lock) return lock.errors();
  auto state = open_state(folder, now);
  if (!state) return state.errors();
  auto series = open_series(folder, now);
  if (!series) return series.errors();
  auto store = std::make_unique<SqliteStore>(*std::move(lock), folder, *std::move(state), *std::move(series));
  if (auto dropped = store->drop_unseen_series(); !dropped) return dropped.errors();
  if (auto synced = sync_folder(folder); !synced) return synced.errors();
  return std::unique_ptr<Store>(std::move(store));
}

Result<std::unique_ptr<Store>> Store::open_beside(const std::string& folder) {
  const auto open = [&](const char* name, Migrations migrations) -> Result<std::unique_ptr<File>> {
    const std::string path = folder + '/' + name;
    if (!fs::exists(path))
      return Error{ErrorKind::not_found, "not_found", path, "there is no such database", "name the folder of a service"};
    return open_file(path, migrations, [&](int version) -> Result<bool> {
      return Error{ErrorKind::failed, "older_database", path, fmt::format("the database has version {}", version),
                   "start the service of this program first, which brings it up to date"};
    });
  };
  auto state = open(kStateFile, state_migrations());
  if (!state) return state.errors();
  auto series = open(kSeriesFile, series_migrations());
  if (!series) return series.errors();
  return std::unique_ptr<Store>(std::make_unique<SqliteStore>(std::nullopt, folder, *std::move(state), *std::move(series)));
}

}  // namespace hakea::service
