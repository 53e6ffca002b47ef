// The only door to SQLite: databases, their statements and transactions.
//
// A Database is one connection; it is used by one thread at a time. Errors: `disk_full`, `damaged_database` (not a
// database, or corrupt), else `store_failed` with SQLite's words; `where` is the file.
#pragma once

#include <cstdint>
#include <functional>
#include <initializer_list>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <variant>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"

struct sqlite3;
struct sqlite3_stmt;

namespace hakea::service {

struct Bytes {
  std::string_view bytes;
};

// What is bound to a `?`. Text is not copied: it must live as long as the call. Instants are stored as seconds of UTC
// since 1970, dates as days since then.
class Value {
 public:
  template <class Integer, std::enable_if_t<std::is_integral_v<Integer>, int> = 0>
  Value(Integer number) : value_(static_cast<std::int64_t>(number)) {}
  Value(const char* text) : value_(std::string_view(text)) {}
  Value(std::string_view text) : value_(text) {}
  Value(const std::string& text) : value_(std::string_view(text)) {}
  Value(Bytes bytes) : value_(bytes) {}
  Value(UtcTime at) : value_(static_cast<std::int64_t>(at.time_since_epoch().count())) {}
  Value(LocalDate date) : value_(static_cast<std::int64_t>(date.time_since_epoch().count())) {}
  template <class T>
  Value(const std::optional<T>& maybe) : value_(maybe ? Value(*maybe).value_ : std::monostate()) {}

 private:
  friend class Database;
  std::variant<std::monostate, std::int64_t, std::string_view, Bytes> value_;
};
using Values = std::initializer_list<Value>;

// The row a statement stands at. Columns count from 0.
class Row {
 public:
  explicit Row(sqlite3_stmt* statement) : statement_(statement) {}
  bool is_null(int column) const;
  std::int64_t number(int column) const;
  std::string text(int column) const;  // also of a BLOB
  UtcTime instant(int column) const { return UtcTime(std::chrono::seconds(number(column))); }
  std::optional<UtcTime> maybe_instant(int column) const {
    return is_null(column) ? std::nullopt : std::optional(instant(column));
  }
  LocalDate date(int column) const { return LocalDate(std::chrono::days(number(column))); }
  std::vector<std::string> lines(int column) const;  // of a text

 private:
  sqlite3_stmt* statement_;
};

class Database {
 public:
  enum class Use {
    write,    // made when missing; a commit is on the disk before it returns (WAL, synchronous=FULL)
    read,     // beside a connection that writes; must exist
    inspect,  // a file that stands alone, such as a backup; nothing is written beside it
  };
  static Result<Database> open(const std::string& path, Use use);

  // One statement.
  Result<bool> run(std::string_view sql, Values values = {});
  // One statement, `read` at each row.
  Result<bool> each(std::string_view sql, Values values, const std::function<void(const Row&)>& read);
  // One statement, what `read` makes of each row.
  template <class Read>
  auto rows(std::string_view sql, Values values, Read read) -> Result<std::vector<std::invoke_result_t<Read, const Row&>>> {
    std::vector<std::invoke_result_t<Read, const Row&>> all;
    auto done = each(sql, values, [&](const Row& row) { all.push_back(read(row)); });
    if (!done) return done.errors();
    return all;
  }
  // The same of the first row; none without one.
  template <class Read>
  auto first(std::string_view sql, Values values, Read read) -> Result<std::optional<std::invoke_result_t<Read, const Row&>>> {
    std::optional<std::invoke_result_t<Read, const Row&>> found;
    auto done = each(sql, values, [&](const Row& row) {
      if (!found) found = read(row);
    });
    if (!done) return done.errors();
    return found;
  }
  // Several statements separated by semicolons.
  Result<bool> run_script(const std::string& sql);

  Result<std::int64_t> number(std::string_view sql, Values values = {});  // of the first row; 0 without one
  std::int64_t rows_changed() const;                                      // by the last statement
  std::int64_t last_row() const;                                          // rowid of the last insert
  bool is_in_transaction() const;
  bool failed_in_fsync() const;  // the last call
  const std::string& path() const { return path_; }

 private:
  struct Closer {
    void operator()(sqlite3* connection) const;
    void operator()(sqlite3_stmt* statement) const;
  };
  Database(std::string path, sqlite3* connection) : path_(std::move(path)), connection_(connection) {}
  Error failure(int code) const;

  std::string path_;
  std::unique_ptr<sqlite3, Closer> connection_;
  std::map<std::string, std::unique_ptr<sqlite3_stmt, Closer>, std::less<>> statements_;  // made ready once
};

// All or nothing. The first failure is kept and everything after it does nothing, so that a sequence of statements is
// written as one; commit() tells. Rolled back at the end of its life unless committed.
class Transaction {
 public:
  explicit Transaction(Database& database);
  ~Transaction();
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;

  void run(std::string_view sql, Values values = {});
  void run_script(const std::string& sql);
  template <class Read>
  auto rows(std::string_view sql, Values values, Read read) {
    auto all = has_failed() ? std::vector<std::invoke_result_t<Read, const Row&>>() : take(database_.rows(sql, values, read));
    return all;
  }
  template <class Read>
  auto first(std::string_view sql, Values values, Read read) {
    return has_failed() ? std::optional<std::invoke_result_t<Read, const Row&>>() : take(database_.first(sql, values, read));
  }
  std::int64_t number(std::string_view sql, Values values = {});
  std::int64_t rows_changed() const { return has_failed() ? 0 : database_.rows_changed(); }
  std::int64_t last_row() const { return has_failed() ? 0 : database_.last_row(); }

  void fail(Error error);  // for a reason of our own
  bool has_failed() const { return failure_.has_value(); }
  Result<bool> commit();  // Errors also: `in_doubt`

 private:
  template <class T>
  T take(Result<T> result) {
    if (result) return *std::move(result);
    fail(result.error());
    return T();
  }

  Database& database_;
  std::optional<Error> failure_;
};

}  // namespace hakea::service
