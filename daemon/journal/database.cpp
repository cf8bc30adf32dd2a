#include "journal/database.h"

#include <cstdlib>
#include <filesystem>
#include <utility>

#include <sqlite3.h>

namespace limegate::journal {
namespace {

StorageFault fault_of(int code) {
  switch (code & 0xff) {
    case SQLITE_FULL:
      return StorageFault::no_room;
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH:
      return StorageFault::read_only;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
    case SQLITE_ERROR:  // a statement of ours that does not fit the tables: they are not ours
    case SQLITE_SCHEMA:
      return StorageFault::damaged;
    default:
      return StorageFault::io_error;
  }
}

StorageError error_of(sqlite3* db) {
  return {fault_of(sqlite3_extended_errcode(db)), sqlite3_errmsg(db)};
}

}  // namespace

const char* StorageError::what() const {
  switch (fault) {
    case StorageFault::no_room:
      return "disk full";
    case StorageFault::read_only:
      return "read-only";
    case StorageFault::io_error:
      return "input/output error";
    case StorageFault::damaged:
      return "damaged";
    case StorageFault::too_new:
      return "written by a newer version";
    case StorageFault::missing:
      return "missing";
  }
  std::abort();
}

Statement::Statement(sqlite3* db, std::string_view sql) : db_(db) {
  // A statement that does not compile (a damaged schema) stays null; each use then reports it.
  sqlite3_prepare_v2(db, sql.data(), static_cast<int>(sql.size()), &statement_, nullptr);
}

Statement::~Statement() { sqlite3_finalize(statement_); }

void Statement::reset() {
  if (statement_ != nullptr) {
    sqlite3_reset(statement_);
    sqlite3_clear_bindings(statement_);
  }
}

void Statement::bind_one(int index, std::int64_t value) {
  sqlite3_bind_int64(statement_, index, value);
}

void Statement::bind_one(int index, double value) { sqlite3_bind_double(statement_, index, value); }

void Statement::bind_one(int index, std::string_view value) {
  // SQLITE_TRANSIENT is a C macro with a cast; the copy it asks for is what we want.
  sqlite3_bind_text(statement_, index, value.data(), static_cast<int>(value.size()),
                    SQLITE_TRANSIENT);  // NOLINT(cppcoreguidelines-pro-type-cstyle-cast)
}

void Statement::bind_one(int index, const std::optional<std::int64_t>& value) {
  if (value) {
    bind_one(index, *value);
  } else {
    sqlite3_bind_null(statement_, index);
  }
}

Stored<bool> Statement::next() {
  if (statement_ == nullptr) {
    return tl::unexpected(error_of(db_));
  }
  const int code = sqlite3_step(statement_);
  if (code == SQLITE_ROW || code == SQLITE_DONE) {
    return code == SQLITE_ROW;
  }
  const StorageError error = error_of(db_);
  sqlite3_reset(statement_);
  return tl::unexpected(error);
}

Stored<void> Statement::run() {
  const Stored<bool> stepped = next();
  // A statement left unfinished would keep its read transaction, and the log could not be folded.
  if (statement_ != nullptr) {
    sqlite3_reset(statement_);
  }
  if (!stepped) {
    return tl::unexpected(stepped.error());
  }
  return {};
}

std::int64_t Statement::integer(int column) const {
  return sqlite3_column_int64(statement_, column);
}

double Statement::real(int column) const { return sqlite3_column_double(statement_, column); }

std::optional<std::int64_t> Statement::maybe_integer(int column) const {
  if (sqlite3_column_type(statement_, column) == SQLITE_NULL) {
    return std::nullopt;
  }
  return integer(column);
}

std::string Statement::text(int column) const {
  const unsigned char* text = sqlite3_column_text(statement_, column);
  const auto size = static_cast<std::size_t>(sqlite3_column_bytes(statement_, column));
  std::string out(size, '\0');
  for (std::size_t i = 0; i < size; ++i) {
    out[i] = static_cast<char>(text[i]);
  }
  return out;
}

void Database::Closer::operator()(sqlite3* db) const { sqlite3_close_v2(db); }

Stored<Database> Database::open(const std::string& path, int flags) {
  std::error_code ignored;
  if ((flags & SQLITE_OPEN_CREATE) == 0 && !std::filesystem::exists(path, ignored)) {
    return tl::unexpected(StorageError{StorageFault::missing, path + " does not exist"});
  }
  sqlite3* raw = nullptr;
  const int code = sqlite3_open_v2(path.c_str(), &raw, flags | SQLITE_OPEN_NOMUTEX, nullptr);
  Database database{raw};
  if (code != SQLITE_OK) {
    return tl::unexpected(raw == nullptr ? StorageError{StorageFault::io_error, "out of memory"}
                                         : error_of(raw));
  }
  sqlite3_extended_result_codes(raw, 1);
  sqlite3_busy_timeout(raw, 2000);
  return database;
}

Stored<Database> Database::beside(const std::string& path) {
  auto database = open(path, SQLITE_OPEN_READONLY);
  if (database) {
    sqlite3_db_config(database->db_.get(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
  }
  return database;
}

Stored<Database> Database::open(const std::string& path, Creating creating, Sync sync) {
  auto database =
      open(path, SQLITE_OPEN_READWRITE | (creating == Creating::yes ? SQLITE_OPEN_CREATE : 0));
  if (!database) {
    return database;
  }
  // A small cache: the daemon writes, and reads only at start.
  for (const char* pragma :
       {"PRAGMA journal_mode=WAL",
        sync == Sync::full ? "PRAGMA synchronous=FULL" : "PRAGMA synchronous=NORMAL",
        "PRAGMA cache_size=-256", "PRAGMA wal_autocheckpoint=64"}) {
    if (auto done = database->execute(pragma); !done) {
      return tl::unexpected(done.error());
    }
  }
  return database;
}

Stored<void> Database::execute(const char* sql) const {
  if (sqlite3_exec(db_.get(), sql, nullptr, nullptr, nullptr) != SQLITE_OK) {
    return tl::unexpected(error_of(db_.get()));
  }
  return {};
}

Stored<std::int64_t> Database::number(std::string_view sql) const {
  Statement statement{db_.get(), sql};
  auto row = statement.next();
  if (!row) {
    return tl::unexpected(row.error());
  }
  return *row ? statement.integer(0) : 0;
}

std::string Database::columns(std::string_view table) const {
  const auto names = prepare("SELECT group_concat(name) FROM pragma_table_info(?1)");
  names->bind(table);
  const auto row = names->next();
  return row && *row ? names->text(0) : std::string{};
}

std::unique_ptr<Statement> Database::prepare(std::string_view sql) const {
  return std::make_unique<Statement>(db_.get(), sql);
}

Stored<void> Database::ok(Statement& check) {
  auto row = check.next();
  if (!row) {
    return tl::unexpected(row.error());
  }
  if (*row && check.text(0) != "ok") {
    return tl::unexpected(StorageError{StorageFault::damaged, check.text(0)});
  }
  return {};
}

Stored<void> Database::check() const {
  Statement statement{db_.get(), "PRAGMA integrity_check(1)"};
  return ok(statement);
}

Stored<void> Database::check(const std::string& table) const {
  Statement statement{db_.get(), "SELECT * FROM pragma_integrity_check(?1)"};
  return ok(statement.bind(table));
}

}  // namespace limegate::journal
