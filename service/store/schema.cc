#include "service/store/schema.h"

#include <fmt/format.h>

#include <array>

namespace hakea::service {
namespace {

constexpr int kOurs = 0x48414b45;  // "HAKE", PRAGMA application_id

// Instants (…_at, reference_time) are seconds of UTC since 1970, days are days since then.
constexpr std::string_view kState1 = R"sql(
CREATE TABLE entry (            -- where each entry stands; its revisions are below and never change
  kind TEXT NOT NULL,
  id TEXT NOT NULL,
  number INTEGER NOT NULL,      -- of an id that ends in one the store gives; else 0
  revision INTEGER NOT NULL,
  is_withdrawn INTEGER NOT NULL,
  PRIMARY KEY (kind, id)
) WITHOUT ROWID;
CREATE TABLE entry_revision (
  kind TEXT NOT NULL,
  id TEXT NOT NULL,
  revision INTEGER NOT NULL,
  body TEXT NOT NULL,
  written_at INTEGER NOT NULL,
  written_by TEXT NOT NULL,
  is_withdrawn INTEGER NOT NULL,
  PRIMARY KEY (kind, id, revision),
  FOREIGN KEY (kind, id) REFERENCES entry (kind, id)
);
CREATE TRIGGER entry_revision_is_not_changed BEFORE UPDATE ON entry_revision
  BEGIN SELECT RAISE(ABORT, 'revisions are not changed'); END;
CREATE TRIGGER entry_revision_is_not_deleted BEFORE DELETE ON entry_revision
  BEGIN SELECT RAISE(ABORT, 'revisions are not deleted'); END;

CREATE TABLE audit (
  seq INTEGER PRIMARY KEY AUTOINCREMENT,
  done_at INTEGER NOT NULL,
  actor TEXT NOT NULL,
  token_id TEXT NOT NULL,
  address TEXT NOT NULL,
  request_id TEXT NOT NULL,
  action TEXT NOT NULL,
  object TEXT NOT NULL,
  reason TEXT NOT NULL,
  body_before TEXT NOT NULL,
  body_after TEXT NOT NULL
);
CREATE TRIGGER audit_is_not_changed BEFORE UPDATE ON audit
  BEGIN SELECT RAISE(ABORT, 'the audit is not changed'); END;
CREATE TRIGGER audit_is_not_deleted BEFORE DELETE ON audit
  BEGIN SELECT RAISE(ABORT, 'the audit is not deleted'); END;

CREATE TABLE token (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  secret_hash TEXT NOT NULL,
  role TEXT NOT NULL,
  districts TEXT NOT NULL,      -- one a line
  created_at INTEGER NOT NULL,
  expires_at INTEGER NOT NULL,
  last_used_at INTEGER,
  revoked_at INTEGER
) WITHOUT ROWID;

CREATE TABLE run (
  id TEXT NOT NULL,
  revision INTEGER NOT NULL,
  feed TEXT NOT NULL,
  reference_time INTEGER NOT NULL,
  state TEXT NOT NULL,
  content_hash TEXT NOT NULL,
  received_at INTEGER NOT NULL,
  computed_at INTEGER NOT NULL,
  is_published INTEGER NOT NULL,
  is_forgotten INTEGER NOT NULL DEFAULT 0,  -- its series were dropped as too old
  details TEXT NOT NULL,
  PRIMARY KEY (id, revision)
);
CREATE INDEX run_by_reference_time ON run (reference_time);

CREATE TABLE file (
  feed TEXT NOT NULL,
  path TEXT NOT NULL,
  size INTEGER NOT NULL,
  content_hash TEXT NOT NULL,
  seen_at INTEGER NOT NULL,
  state TEXT NOT NULL,
  run TEXT NOT NULL,
  why TEXT NOT NULL,
  hint TEXT NOT NULL,
  PRIMARY KEY (feed, path)
);
CREATE INDEX file_by_run ON file (run);

CREATE TABLE carried (
  unit TEXT NOT NULL,
  rain_day INTEGER NOT NULL,
  state TEXT NOT NULL,
  provenance TEXT NOT NULL,
  is_observed INTEGER NOT NULL,
  PRIMARY KEY (unit, rain_day)
);

CREATE TABLE note (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
)sql";

// Scopes are NULL where a token has all of its role; else words, one a line, as are units.
constexpr std::string_view kState2 = R"sql(
ALTER TABLE token ADD COLUMN scopes TEXT;
ALTER TABLE token ADD COLUMN units TEXT NOT NULL DEFAULT '';
CREATE TABLE session (
  id_hash TEXT PRIMARY KEY,
  token_id TEXT NOT NULL,
  began_at INTEGER NOT NULL,
  seen_at INTEGER NOT NULL
) WITHOUT ROWID;
)sql";

constexpr std::string_view kState3 = R"sql(
CREATE TABLE keyed_deed (       -- requests that their callers may send again, for a day
  caller TEXT NOT NULL,
  key TEXT NOT NULL,
  hash TEXT NOT NULL,           -- of what was asked for
  done_at INTEGER NOT NULL,
  objects TEXT NOT NULL,        -- what was written, one a line
  status INTEGER,               -- of the answer; null until it is kept
  content_type TEXT NOT NULL DEFAULT '',
  headers TEXT NOT NULL DEFAULT '',  -- one a line
  body TEXT NOT NULL DEFAULT '',
  PRIMARY KEY (caller, key)
) WITHOUT ROWID;
CREATE INDEX keyed_deed_by_time ON keyed_deed (done_at);
)sql";

// Ids of a delivery's events stand one a line. Secrets are base64.
constexpr std::string_view kState4 = R"sql(
CREATE TABLE event (
  seq INTEGER PRIMARY KEY AUTOINCREMENT,
  id TEXT NOT NULL UNIQUE,
  key TEXT NOT NULL UNIQUE,
  type TEXT NOT NULL,
  thread TEXT NOT NULL,
  unit TEXT NOT NULL,
  district TEXT NOT NULL,
  happened_at INTEGER NOT NULL,
  expires_at INTEGER NOT NULL,
  title TEXT NOT NULL,
  data TEXT NOT NULL,
  is_answerable INTEGER NOT NULL,
  acknowledged_at INTEGER,
  acknowledged_by TEXT NOT NULL
);
CREATE TABLE delivery (
  id TEXT PRIMARY KEY,
  subscription TEXT NOT NULL,
  events TEXT NOT NULL,
  made_at INTEGER NOT NULL,
  expires_at INTEGER NOT NULL,
  is_escalation INTEGER NOT NULL,
  state TEXT NOT NULL,
  attempts INTEGER NOT NULL,
  next_at INTEGER NOT NULL,
  lease_until INTEGER,
  ended_at INTEGER,
  last_status INTEGER NOT NULL,
  last_error TEXT NOT NULL
) WITHOUT ROWID;
CREATE INDEX delivery_by_state ON delivery (state, next_at);
CREATE TABLE alert_memory (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE channel (
  subscription TEXT PRIMARY KEY,
  state TEXT NOT NULL,
  secret TEXT NOT NULL,
  old_secret TEXT NOT NULL,
  old_secret_until INTEGER,
  failing_since INTEGER,
  failure TEXT NOT NULL,
  is_failure_told INTEGER NOT NULL,
  unsubscribe TEXT NOT NULL
) WITHOUT ROWID;
)sql";

// Calendars: links that people made, whose secrets are hashed; and what all of them show of a unit and date. The UUID from which
// those of entries are made is of this database: it goes where the database goes, and stays what it is.
constexpr std::string_view kState5 = R"sql(
CREATE TABLE calendar (
  number INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL,
  link_hash TEXT NOT NULL UNIQUE,
  owner TEXT NOT NULL,
  token_id TEXT NOT NULL,
  district TEXT NOT NULL,       -- empty where units were chosen
  units TEXT NOT NULL,          -- one a line
  made_at INTEGER NOT NULL,
  ends_at INTEGER NOT NULL,
  taken_back_at INTEGER
);
CREATE TABLE calendar_entry (
  unit TEXT NOT NULL,
  date INTEGER NOT NULL,
  district TEXT NOT NULL,
  state TEXT NOT NULL,
  starts_at INTEGER NOT NULL,
  ends_at INTEGER NOT NULL,
  light_until INTEGER NOT NULL,
  run_time INTEGER NOT NULL,
  sequence INTEGER NOT NULL,
  changed_at INTEGER NOT NULL,
  title TEXT NOT NULL,
  text TEXT NOT NULL,
  as_of TEXT NOT NULL,
  place TEXT NOT NULL,
  change INTEGER NOT NULL,
  PRIMARY KEY (unit, date)
) WITHOUT ROWID;
CREATE TABLE calendar_change (change INTEGER NOT NULL);  -- one row: the last one's number
INSERT INTO calendar_change VALUES (0);
INSERT INTO note (key, value) VALUES ('calendar_namespace',
  lower(hex(randomblob(4)) || '-' || hex(randomblob(2)) || '-4' || substr(hex(randomblob(2)), 2) || '-a' ||
        substr(hex(randomblob(2)), 2) || '-' || hex(randomblob(6))));
)sql";

constexpr std::string_view kSeries1 = R"sql(
CREATE TABLE run (
  key INTEGER PRIMARY KEY,
  id TEXT NOT NULL,
  revision INTEGER NOT NULL,
  content_hash TEXT NOT NULL,
  UNIQUE (id, revision, content_hash)
);
CREATE TABLE series (
  run INTEGER NOT NULL REFERENCES run (key) ON DELETE CASCADE,
  unit TEXT NOT NULL,
  point INTEGER NOT NULL,
  member INTEGER NOT NULL,
  bytes BLOB NOT NULL,
  PRIMARY KEY (run, unit, point, member)
);
)sql";

constexpr std::array kState = {kState1, kState2, kState3, kState4, kState5};
constexpr std::array kSeries = {kSeries1};

}  // namespace

Migrations state_migrations() { return kState; }

Migrations series_migrations() { return kSeries; }

Result<int> version_of(Database& database, Migrations migrations) {
  const auto version = database.number("PRAGMA user_version");
  const auto tables = version ? database.number("SELECT count(*) FROM sqlite_schema") : version;
  const auto application = tables ? database.number("PRAGMA application_id") : tables;
  if (!application) return application.errors();
  if (*version == 0 && *tables == 0) return 0;
  if (*version <= 0 || *application != kOurs)
    return Error{ErrorKind::unsupported, "damaged_database", database.path(), "this is a database of some other program",
                 "name the folder that holds the data of this service"};
  if (*version > std::int64_t(migrations.size()))
    return Error{ErrorKind::unsupported, "newer_database", database.path(),
                 fmt::format("the database has version {}, made by a newer program; this one knows version {}", *version,
                             migrations.size()),
                 "start the newer program, or restore the backup that was made before the upgrade"};
  return static_cast<int>(*version);
}

Result<bool> migrate(Database& database, Migrations migrations, const std::function<Result<bool>(int version)>& before) {
  const auto found = version_of(database, migrations);
  if (!found) return found.errors();
  const auto first = static_cast<std::size_t>(*found);
  if (first == migrations.size()) return true;
  if (first > 0)
    if (auto ready = before(*found); !ready) return ready.errors();
  for (std::size_t i = first; i < migrations.size(); ++i) {
    Transaction transaction(database);
    transaction.run_script(std::string(migrations[i]));
    transaction.run_script(fmt::format("PRAGMA application_id = {}; PRAGMA user_version = {}", kOurs, i + 1));
    if (auto done = transaction.commit(); !done) return done.errors();
  }
  return true;
}

}  // namespace hakea::service
