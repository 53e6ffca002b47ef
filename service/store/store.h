// What the service remembers (DESIGN §8), behind one narrow interface. Two SQLite files in one folder:
//
//   state.db   what people entered, what carries from day to day, which runs were published: the only truth, small and
//              precious
//   series.db  the columns of runs, rebuildable from their files
//
// Both WAL, synchronous=FULL: the price is one fsync a run, and series that were put are there after a power cut.
//
// Two WAL databases share no atomic commit, so a run's columns go to series.db first, not yet visible; one transaction in
// state.db then makes them so. Every function may be called from several threads; one writer at a time. A function that
// returned without an error has its effect on disk; one that returned an error has none. Errors: `store_failed` with what
// SQLite said (a full disk is `disk_full`), and what each function names. Where the fsync of a commit fails and the disk then
// takes nothing more, so that the commit cannot be struck out either, the error is `in_doubt`: whether it has an effect
// shows at the next start.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"
#include "service/access/actor.h"
#include "service/store/alert_store.h"
#include "service/store/calendar_store.h"

namespace hakea::service {

// What people enter, each a JSON document with an id and immutable revisions 1, 2, ….
enum class EntryKind : std::uint8_t { district, unit, prescription, booking, stop, observation, outcome, subscription };
std::string_view word(EntryKind kind);
std::optional<EntryKind> entry_kind_of(std::string_view word);

struct Entry {
  EntryKind kind = EntryKind::unit;
  std::string id;  // of a prescription "UNIT/main" or "UNIT/edging"; of an observation a number that ascends
  int revision = 0;
  std::string body;           // JSON
  UtcTime at{};               // of this revision
  std::string by;             // actor's name
  bool is_withdrawn = false;  // retired unit, lifted stop, deleted booking: the body stays as it last was
};

// The number in an id that the store gives, 0 in any other. Entries of a kind are in the order of it, then of their ids.
std::int64_t number_in(EntryKind kind, std::string_view id);

struct Change {
  EntryKind kind = EntryKind::unit;
  std::string id;                        // empty: the store gives one (b-0001, s-0001, o-0001, n-0001; observations 1, 2, …)
  std::optional<std::string> body;       // none: withdraw
  std::optional<int> expected_revision;  // 0: must not exist yet. Error otherwise: `changed_meanwhile`, naming the revision
  std::string action;                    // for the audit: "create", "replace", "lift", …
  std::string reason;                    // for the audit; may be empty
};

// A request that its caller may send again without its being carried out again: who sent it, the key they gave it, and what it
// asked for.
struct KeyedRequest {
  std::string caller, key, hash;
};
// What became of a keyed request. An answer may be missing where the service ended before it was kept.
struct KeyedDeed {
  std::string hash;
  std::vector<std::string> objects;  // what was written: "observation/17", in the order of the changes
  struct Answer {
    int status = 0;
    std::string content_type, body;
    std::vector<std::pair<std::string, std::string>> headers;
  };
  std::optional<Answer> answer;
};

struct AuditRow {
  std::int64_t seq = 0;
  UtcTime at{};
  std::string actor, token_id, address, request_id, action, object, reason;
  std::string before, after;  // JSON bodies, empty for none
};

struct Token {
  std::string id;           // eight characters
  std::string name;         // who it was made for
  std::string secret_hash;  // SHA-256, hex
  Role role = Role::viewer;
  std::optional<Scopes> scopes{};      // these alone; none: all of the role
  std::vector<std::string> districts;  // read and write these alone; empty: all
  std::vector<std::string> units;      // write these alone; empty: all of the districts
  UtcTime created_at{}, expires_at{};
  std::optional<UtcTime> last_used_at, revoked_at;
};

// A page that signed in with a token: what its cookie holds stands here as a hash only.
struct PageSession {
  std::string id_hash, token_id;
  UtcTime began_at{}, seen_at{};
};

// One revision of one run. What is here is shown by /runs and /feeds.
struct RunRow {
  std::string id;  // "fine.2027-03-29T12:00:00Z"
  std::string feed;
  UtcTime reference_time{};
  int revision = 1;
  std::string state;         // complete incomplete refused
  std::string content_hash;  // of the files it was read from: the same content is not evaluated twice
  UtcTime received_at{}, computed_at{};
  bool is_published = false;  // some time the run that days rest on; of an incomplete one, that its hours are used
  std::string details;        // JSON: files, refusals with reasons, missing steps, quality, timings
};

// What became of a file of a feed's folder.
struct FileRow {
  std::string feed, path;
  std::int64_t size = 0;
  std::string content_hash;
  UtcTime seen_at{};
  std::string state;      // taken refused
  std::string run;        // id, where it belongs to one
  std::string why, hint;  // of a refused one
};

// The state of a unit at the end of a rain day, and where its inputs came from.
struct CarriedRow {
  std::string unit;
  LocalDate rain_day{};
  std::string state;         // as the engine writes a core::WetnessState
  std::string provenance;    // JSON: which hours are from observations, which from which run
  bool is_observed = false;  // a forecast never overwrites such a row
};

// The fed columns of a unit's point and member in one run, as the engine packs them.
struct SeriesBlob {
  std::string unit;
  int point = 0, member = 0;
  std::string bytes;
};

// One evaluated run, made visible by one transaction.
struct Publication {
  RunRow run;
  std::vector<FileRow> files;
  std::vector<CarriedRow> carried;
};

class Store {
 public:
  // Opens, or makes, the databases of a folder and holds its lock; migrates older ones (a backup of state.db first), drops
  // series that no published run names, sets a damaged series.db aside. Errors also: `newer_database`, `damaged_database`,
  // `in_use`.
  static Result<std::unique_ptr<Store>> open(const std::string& folder, UtcTime now);
  // The same for an operator's few writes beside a service that runs and holds the lock: nothing is made, migrated or
  // dropped. Errors also: `not_found`, `older_database`.
  static Result<std::unique_ptr<Store>> open_beside(const std::string& folder);
  virtual ~Store() = default;

  // --- people's entries and the audit ---
  // All changes in one transaction, an audit row each; the new entries in the order of the changes. With the request that
  // they were made by, that it was carried out is known from then on; error also: `carried_out`, where it is already. `beside`:
  // what is to be told and how, of the new entries, in the same transaction; empty: nothing.
  using Beside = std::function<AlertCommit(std::span<const Entry> written)>;
  virtual Result<std::vector<Entry>> write(const Actor& actor, UtcTime now, std::span<const Change> changes,
                                           const KeyedRequest* request = nullptr, const Beside& beside = {}) = 0;
  // Known for a day. What was carried out by a caller's request of that key; and the answer to it, kept for the next time.
  virtual Result<std::optional<KeyedDeed>> deed(std::string_view caller, std::string_view key, UtcTime now) = 0;
  virtual Result<bool> keep_answer(const KeyedRequest& request, const KeyedDeed::Answer& answer) = 0;
  // By id; without withdrawn ones unless asked for.
  virtual Result<std::vector<Entry>> entries(EntryKind kind, bool also_withdrawn = false) = 0;
  virtual Result<std::optional<Entry>> entry(EntryKind kind, std::string_view id) = 0;  // also a withdrawn one
  virtual Result<std::optional<Entry>> revision(EntryKind kind, std::string_view id, int revision) = 0;
  // Newest first, `before_seq` exclusive (0: from the newest).
  virtual Result<std::vector<AuditRow>> audit(std::int64_t before_seq, int at_most) = 0;
  // The number of the newest audit row: whatever people enter changes it.
  virtual Result<std::int64_t> last_change() = 0;
  // For what is no entry: tokens, the demo's clock.
  virtual Result<bool> add_audit(const Actor& actor, UtcTime now, std::string action, std::string object, std::string reason) = 0;

  // --- tokens ---
  virtual Result<bool> add_token(const Actor& actor, UtcTime now, const Token& token) = 0;
  virtual Result<std::vector<Token>> tokens() = 0;
  virtual Result<std::optional<Token>> token(std::string_view id) = 0;
  virtual Result<bool> revoke_token(const Actor& actor, UtcTime now, std::string_view id) = 0;  // Error also: `not_found`
  virtual Result<bool> token_used(std::string_view id, UtcTime now) = 0;                        // kept to the minute

  // --- page sessions ---
  // Those that began before `oldest` are dropped on the way.
  virtual Result<bool> add_session(const Actor& actor, const PageSession& session, UtcTime oldest) = 0;
  virtual Result<std::optional<PageSession>> session(std::string_view id_hash) = 0;
  virtual Result<bool> session_seen(std::string_view id_hash, UtcTime now) = 0;  // kept to the minute
  virtual Result<bool> end_session(const Actor& actor, UtcTime now, std::string_view id_hash) = 0;

  // --- runs ---
  // The columns of a run's revision, not visible until publish(), as `next` gives them: some at each call, none when there are
  // no more. Replaces what was put for it before. Errors also: those of `next`.
  using NextBlobs = std::function<Result<std::vector<SeriesBlob>>()>;
  virtual Result<bool> put_series(std::string_view run, int revision, std::string_view content_hash, const NextBlobs& next) = 0;
  // The run's row, its files and carried states, in one transaction: from now on its series count, if it is published or
  // complete (one that came late). Also for runs that are only shown (incomplete, refused): without series.
  virtual Result<bool> publish(const Publication& publication) = 0;
  // Newest revision of each run, newest reference time first.
  virtual Result<std::vector<RunRow>> runs() = 0;
  // Of a run's newest visible revision, by point and member. Empty where it has none.
  virtual Result<std::vector<SeriesBlob>> series(std::string_view run, std::string_view unit) = 0;
  virtual Result<bool> note_files(std::span<const FileRow> files) = 0;
  virtual Result<std::vector<FileRow>> files(std::string_view feed) = 0;
  virtual Result<std::vector<CarriedRow>> carried(std::string_view unit) = 0;  // by rain day
  virtual Result<bool> put_carried(std::span<const CarriedRow> rows) = 0;
  // Published revisions whose series are not there, as after a power cut or a restored backup: newest revision of each run,
  // oldest first. To be evaluated again from their files. Those that forget_series() dropped are not among them.
  virtual Result<std::vector<RunRow>> runs_without_series() = 0;
  // Drops series of runs whose reference time is before an instant with their file rows, and the rows of files that were refused
  // before then; run rows stay.
  virtual Result<bool> forget_series(UtcTime before) = 0;

  // --- small things ---
  virtual Result<std::optional<std::string>> note(std::string_view key) = 0;  // e.g. the demo's clock
  virtual Result<bool> set_note(std::string_view key, std::string_view value) = 0;

  // --- what is told; null where a store remembers nothing of it ---
  virtual AlertStore* alerts() { return nullptr; }

  // --- calendars; null where a store has none ---
  virtual CalendarStore* calendars() { return nullptr; }

  // --- looking after it ---
  // As back_up() below.
  virtual Result<bool> backup(const std::string& path) = 0;
  // What last went wrong with writing, empty when the last write succeeded: shown by /status.
  virtual std::string trouble() const = 0;
};

// The note of when that last went well, as a time.
inline constexpr std::string_view kBackupNote = "backup";

// A checked copy of a folder's state.db at a path that does not exist yet. The service may run. Errors also: `exists`,
// `not_found`, `damaged_database`.
Result<bool> back_up(const std::string& folder, const std::string& path);

// Puts a backup in place of a folder's state.db; the one that stood there is kept beside it. The service must not run (a
// lock on the folder sees to that). Errors: `damaged_database`, `newer_database`, `in_use`, `not_found`.
Result<bool> restore_backup(const std::string& backup, const std::string& folder, UtcTime now);

}  // namespace hakea::service
