#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include <tl/expected.hpp>

struct sqlite3;
struct sqlite3_stmt;

namespace limegate::journal {

/// What kept the database from doing what was asked, split by what the caller must do.
enum class StorageFault {
  no_room,    ///< disk full: hold until there is room
  read_only,  ///< hold until it is writable
  io_error,   ///< hold; close, open and read again before the file is trusted
  damaged,    ///< not a sound database: set it aside
  too_new,    ///< written by a newer version: leave it alone
  missing,    ///< there is no such file
};

struct StorageError {
  StorageFault fault;
  std::string detail;  ///< one line, for people

  /// "disk full", "read-only" ...
  [[nodiscard]] const char* what() const;
  [[nodiscard]] std::string text() const { return std::string{what()} + ": " + detail; }
};

template <class T>
using Stored = tl::expected<T, StorageError>;

enum class Sync { normal, full };
enum class Creating { no, yes };

/// One prepared statement, reset on destruction's side by its owner. Columns count from 0.
class Statement {
 public:
  Statement(sqlite3* db, std::string_view sql);
  ~Statement();
  Statement(const Statement&) = delete;
  Statement& operator=(const Statement&) = delete;
  Statement(Statement&&) = delete;
  Statement& operator=(Statement&&) = delete;

  /// Binds the values to ?1, ?2, ... and begins anew.
  template <class... Values>
  Statement& bind(const Values&... values) {
    reset();
    int index = 0;
    (bind_one(++index, values), ...);
    return *this;
  }

  /// Steps to the next row; false at the end.
  [[nodiscard]] Stored<bool> next();
  /// Runs a statement that returns no row.
  [[nodiscard]] Stored<void> run();

  [[nodiscard]] std::int64_t integer(int column) const;
  [[nodiscard]] std::optional<std::int64_t> maybe_integer(int column) const;
  [[nodiscard]] double real(int column) const;
  [[nodiscard]] std::string text(int column) const;
  /// The same, by the type that is wanted.
  void read(int column, std::int64_t& value) const { value = integer(column); }
  void read(int column, double& value) const { value = real(column); }
  void read(int column, std::string& value) const { value = text(column); }
  void read(int column, std::optional<std::int64_t>& value) const { value = maybe_integer(column); }

 private:
  void reset();
  void bind_one(int index, std::int64_t value);
  void bind_one(int index, double value);
  void bind_one(int index, std::string_view value);
  void bind_one(int index, const std::optional<std::int64_t>& value);

  sqlite3* db_;
  sqlite3_stmt* statement_ = nullptr;
};

/// An SQLite database in WAL mode.
/// Threads: one at a time.   Errors: values, never exceptions.
class Database {
 public:
  [[nodiscard]] static Stored<Database> open(const std::string& path, Creating creating, Sync sync);
  /// For reading what a daemon may write meanwhile, or a next one will open: nothing is written,
  /// and the log stays as it is, in which that one finds what a power cut did to it (log_check.h).
  [[nodiscard]] static Stored<Database> beside(const std::string& path);

  [[nodiscard]] Stored<void> execute(const char* sql) const;
  [[nodiscard]] Stored<std::int64_t> number(std::string_view sql) const;
  [[nodiscard]] std::unique_ptr<Statement> prepare(std::string_view sql) const;
  /// The names of a table's columns, in their order, with commas; empty if there is none.
  [[nodiscard]] std::string columns(std::string_view table) const;

  /// SQLite's own check of the whole file, with the order of the keys: a row that stands in the
  /// wrong place is not found, and hides others.
  [[nodiscard]] Stored<void> check() const;
  /// The same of one table.
  [[nodiscard]] Stored<void> check(const std::string& table) const;

 private:
  struct Closer {
    void operator()(sqlite3* db) const;
  };
  explicit Database(sqlite3* db) : db_(db) {}
  [[nodiscard]] static Stored<Database> open(const std::string& path, int flags);
  [[nodiscard]] static Stored<void> ok(Statement& check);
  std::unique_ptr<sqlite3, Closer> db_;
};

}  // namespace limegate::journal
