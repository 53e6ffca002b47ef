#include "service/store/sqlite.h"

#include <fmt/format.h>
#include <sqlite3.h>

#include "core/base/words.h"

namespace hakea::service {
namespace {

constexpr int kWaitMs = 5000;  // for a lock that another process holds, such as a backup's

}  // namespace

bool Row::is_null(int column) const { return sqlite3_column_type(statement_, column) == SQLITE_NULL; }

std::int64_t Row::number(int column) const { return sqlite3_column_int64(statement_, column); }

std::string Row::text(int column) const {
  const auto* bytes = static_cast<const char*>(sqlite3_column_blob(statement_, column));
  return bytes ? std::string(bytes, static_cast<std::size_t>(sqlite3_column_bytes(statement_, column))) : std::string();
}

std::vector<std::string> Row::lines(int column) const {
  const std::string all = text(column);
  const auto found = words(all, '\n');
  return {found.begin(), found.end()};
}

void Database::Closer::operator()(sqlite3* connection) const { sqlite3_close(connection); }

void Database::Closer::operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }

Error Database::failure(int code) const {
  const std::string said =
      fmt::format("{} (SQLite {})", connection_ ? sqlite3_errmsg(connection_.get()) : sqlite3_errstr(code), code);
  switch (code & 0xff) {
    case SQLITE_FULL:
      return {ErrorKind::failed, "disk_full", path_, "the disk is full; nothing was stored: " + said,
              "free some space on this disk"};
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return {ErrorKind::failed, "damaged_database", path_, "the database is damaged: " + said, "restore the newest backup"};
    default:
      return {ErrorKind::failed, "store_failed", path_, "the database failed; nothing was stored: " + said,
              "look at the disk, and at who may write there"};
  }
}

Result<Database> Database::open(const std::string& path, Use use) {
  const int access =
      use == Use::inspect ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE | (use == Use::write ? SQLITE_OPEN_CREATE : 0);
  sqlite3* connection = nullptr;
  const int code = sqlite3_open_v2(path.c_str(), &connection, access | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, nullptr);
  Database database(path, connection);
  if (code != SQLITE_OK) return database.failure(code);
  // Before journal_mode, which itself fails at once on a lock otherwise.
  sqlite3_busy_timeout(connection, kWaitMs);
  std::string settings = "PRAGMA foreign_keys = ON;";
  if (use == Use::write)
    settings += "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA journal_size_limit = 67108864;";
  auto done = database.run_script(settings);
  if (!done) return done.errors();
  return database;
}

Result<bool> Database::run(std::string_view sql, Values values) {
  return each(sql, values, [](const Row&) {});
}

Result<bool> Database::each(std::string_view sql, Values values, const std::function<void(const Row&)>& read) {
  auto known = statements_.find(sql);
  if (known == statements_.end()) {
    sqlite3_stmt* made = nullptr;
    const int code = sqlite3_prepare_v3(connection_.get(), sql.data(), static_cast<int>(sql.size()), SQLITE_PREPARE_PERSISTENT,
                                        &made, nullptr);
    if (code != SQLITE_OK) return failure(code);
    known = statements_.emplace(std::string(sql), made).first;
  }
  sqlite3_stmt* statement = known->second.get();
  struct Reset {
    sqlite3_stmt* statement;
    ~Reset() {
      sqlite3_reset(statement);
      sqlite3_clear_bindings(statement);
    }
  } reset{statement};

  int code = SQLITE_OK, at = 0;
  for (const Value& value : values) {
    ++at;
    if (const auto* number = std::get_if<std::int64_t>(&value.value_))
      code = sqlite3_bind_int64(statement, at, *number);
    else if (const auto* text = std::get_if<std::string_view>(&value.value_))
      code = sqlite3_bind_text64(statement, at, text->data() ? text->data() : "", text->size(), SQLITE_STATIC, SQLITE_UTF8);
    else if (const auto* blob = std::get_if<Bytes>(&value.value_))
      code = blob->bytes.empty() ? sqlite3_bind_zeroblob(statement, at, 0)
                                 : sqlite3_bind_blob64(statement, at, blob->bytes.data(), blob->bytes.size(), SQLITE_STATIC);
    if (code != SQLITE_OK) return failure(code);
  }
  HAKEA_EXPECT(at == sqlite3_bind_parameter_count(statement));
  while ((code = sqlite3_step(statement)) == SQLITE_ROW) read(Row(statement));
  if (code != SQLITE_DONE) return failure(code);
  return true;
}

Result<bool> Database::run_script(const std::string& sql) {
  const int code = sqlite3_exec(connection_.get(), sql.c_str(), nullptr, nullptr, nullptr);
  if (code != SQLITE_OK) return failure(code);
  return true;
}

Result<std::int64_t> Database::number(std::string_view sql, Values values) {
  std::int64_t number = 0;
  auto done = each(sql, values, [&](const Row& row) { number = row.number(0); });
  if (!done) return done.errors();
  return number;
}

std::int64_t Database::rows_changed() const { return sqlite3_changes64(connection_.get()); }

std::int64_t Database::last_row() const { return sqlite3_last_insert_rowid(connection_.get()); }

bool Database::is_in_transaction() const { return sqlite3_get_autocommit(connection_.get()) == 0; }

bool Database::failed_in_fsync() const { return sqlite3_extended_errcode(connection_.get()) == SQLITE_IOERR_FSYNC; }

Transaction::Transaction(Database& database) : database_(database) { run("BEGIN IMMEDIATE"); }

Transaction::~Transaction() {
  if (database_.is_in_transaction()) (void)database_.run("ROLLBACK");
}

void Transaction::run(std::string_view sql, Values values) {
  if (!has_failed()) take(database_.run(sql, values));
}

void Transaction::run_script(const std::string& sql) {
  if (!has_failed()) take(database_.run_script(sql));
}

std::int64_t Transaction::number(std::string_view sql, Values values) {
  return has_failed() ? 0 : take(database_.number(sql, values));
}

void Transaction::fail(Error error) {
  if (!failure_) failure_ = std::move(error);
}

Result<bool> Transaction::commit() {
  const bool is_tried = !has_failed();
  run("COMMIT");
  if (!has_failed()) return true;
  const bool stands_in_log = is_tried && database_.failed_in_fsync();
  if (database_.is_in_transaction()) (void)database_.run("ROLLBACK");
  // A commit that failed in its fsync stands whole in the log and would come to life when the log is read at the next
  // start. The next transaction writes over it, so one that changes nothing is written now.
  if (stands_in_log) {
    const auto version = database_.number("PRAGMA user_version");
    const bool is_overwritten =  // also where only the fsync failed: it need not be kept, only to stand there
        version && (database_.run_script(fmt::format("BEGIN IMMEDIATE; PRAGMA user_version = {}; COMMIT", *version)) ||
                    database_.failed_in_fsync());
    if (database_.is_in_transaction()) (void)database_.run("ROLLBACK");
    if (!is_overwritten)
      failure_ = Error{ErrorKind::failed, "in_doubt", database_.path(),
                       "the disk failed at the very end and takes nothing back: whether this was stored shows at the next start",
                       "look at the disk before entering it again"};
  }
  return *failure_;
}

}  // namespace hakea::service
