#include "record/sqlite.hpp"

#include "evenbevel/error.hpp"

namespace evenbevel::sqlite {
namespace {

constexpr int kWaitMs = 20'000;

std::string file_of(sqlite3* database) {
  const char* name = database == nullptr ? nullptr : sqlite3_db_filename(database, "main");
  return name == nullptr ? std::string("the record") : "the record " + std::string(name);
}

[[noreturn]] void fail(sqlite3* database, int code, const std::string& file) {
  const std::string detail = database == nullptr ? "" : sqlite3_errmsg(database);
  switch (code & 0xFF) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      throw Error(file + " is being written by another program (waited " +
                      std::to_string(kWaitMs / 1000) + " s)",
                  "try again when that program is done");
    case SQLITE_NOTADB:
      throw Error(file + " is not a record, or its beginning is damaged (" + detail + ")",
                  "check the name; if it is the record, 'evenbevel record check --rescue NEW' "
                  "brings back what can be read");
    case SQLITE_CORRUPT:
      throw Error(file + " is damaged (" + detail + ")",
                  "'evenbevel record check --rescue NEW' brings back what can be read; keep the "
                  "damaged file until you have looked at the result");
    case SQLITE_FULL:
      throw Error(file + " cannot be written: the disk is full",
                  "free some space and do it again; what the record held before is untouched");
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
    case SQLITE_PERM:
    case SQLITE_AUTH:
      throw Error(file + " cannot be opened for writing (" + detail + ")",
                  "check the folder and your rights there, or give another file with --record");
    default:
      throw Error(file + " cannot be read or written (" + detail + ")",
                  "check the disk; 'evenbevel record check' looks the record over");
  }
}

/// SQLite, "Uniform Resource Identifiers": what would end the path there.
std::string unchanging_uri(const std::filesystem::path& file) {
  std::string uri = "file:";
  for (const char c : std::filesystem::absolute(file).string()) {
    if (c == '?' || c == '#' || c == '%') {
      uri += c == '?' ? "%3f" : c == '#' ? "%23" : "%25";
    } else {
      uri += c;
    }
  }
  return uri + "?immutable=1";
}

/// A record may come from anybody: nothing that its schema says is run, and it stays within what
/// records need.
void distrust(sqlite3* connection) {
  constexpr int kMostBytes = 1 << 28, kMostSqlBytes = 1 << 16, kMostColumns = 100, kDeepest = 50;
  sqlite3_db_config(connection, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  sqlite3_db_config(connection, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(connection, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, nullptr);
  sqlite3_db_config(connection, SQLITE_DBCONFIG_ENABLE_VIEW, 0, nullptr);
  sqlite3_limit(connection, SQLITE_LIMIT_LENGTH, kMostBytes);
  sqlite3_limit(connection, SQLITE_LIMIT_SQL_LENGTH, kMostSqlBytes);
  sqlite3_limit(connection, SQLITE_LIMIT_COLUMN, kMostColumns);
  sqlite3_limit(connection, SQLITE_LIMIT_EXPR_DEPTH, kDeepest);
  sqlite3_limit(connection, SQLITE_LIMIT_TRIGGER_DEPTH, 1);
  sqlite3_limit(connection, SQLITE_LIMIT_ATTACHED, 1);  // VACUUM INTO needs one
}

}  // namespace

Query::Query(sqlite3* database, std::string_view sql) : database_(database) {
  sqlite3_stmt* statement = nullptr;
  const int code =
      sqlite3_prepare_v2(database, sql.data(), static_cast<int>(sql.size()), &statement, nullptr);
  statement_.reset(statement);
  check(code);
}

void Query::check(int code) const {
  if (code != SQLITE_OK) fail(database_, code, file_of(database_));
}

void Query::restart() {
  sqlite3_reset(statement_.get());  // its code repeats the last step's, which was seen there
  sqlite3_clear_bindings(statement_.get());
}

void Query::bind(int position, std::int64_t value) {
  check(sqlite3_bind_int64(statement_.get(), position, value));
}

void Query::bind(int position, double value) {
  check(sqlite3_bind_double(statement_.get(), position, value));
}

void Query::bind(int position, std::string_view text) {
  // A view without memory behind it would be bound as NULL.
  const char* from = text.data() == nullptr ? "" : text.data();
  check(sqlite3_bind_text64(statement_.get(), position, from, text.size(), SQLITE_TRANSIENT,
                            SQLITE_UTF8));
}

bool Query::step() {
  const int code = try_step();
  if (code == SQLITE_ROW) return true;
  if (code != SQLITE_DONE) fail(database_, code, file_of(database_));
  return false;
}

void Query::run() {
  while (step()) {
  }
}

std::string Query::text(int column) const {
  const unsigned char* text = sqlite3_column_text(statement_.get(), column);
  if (text == nullptr) return {};
  const int bytes = sqlite3_column_bytes(statement_.get(), column);
  return {reinterpret_cast<const char*>(text), static_cast<std::size_t>(bytes)};
}

Database::Database(const std::filesystem::path& file, Open how) {
  const bool unchanging = how == Open::unchanging;
  const int access = unchanging ? SQLITE_OPEN_READONLY | SQLITE_OPEN_URI : SQLITE_OPEN_READWRITE;
  const int flags = access | SQLITE_OPEN_EXRESCODE | (how == Open::create ? SQLITE_OPEN_CREATE : 0);
  const std::string name = unchanging ? unchanging_uri(file) : file.string();
  sqlite3* connection = nullptr;
  const int code = sqlite3_open_v2(name.c_str(), &connection, flags, nullptr);
  connection_.reset(connection);
  if (code != SQLITE_OK) fail(connection, code, "the record " + file.string());
  distrust(connection);
  sqlite3_busy_timeout(connection, kWaitMs);
  run("PRAGMA foreign_keys = ON; PRAGMA synchronous = EXTRA");
}

void Database::run(const std::string& sql) {
  const int code = sqlite3_exec(connection_.get(), sql.c_str(), nullptr, nullptr, nullptr);
  if (code != SQLITE_OK) fail(connection_.get(), code, file_of(connection_.get()));
}

std::int64_t Database::number(std::string_view sql) {
  Query query = prepare(sql);
  return query.step() ? query.integer(0) : 0;
}

Transaction::Transaction(Database& database) : database_(database) {
  database_.run("BEGIN IMMEDIATE");
}

Transaction::~Transaction() {
  if (!open_) return;
  try {
    database_.run("ROLLBACK");
  } catch (const Error&) {
    // SQLite has rolled back by itself, as it does after a full disk.
    open_ = false;
  }
}

void Transaction::commit() {
  database_.run("COMMIT");
  open_ = false;
}

}  // namespace evenbevel::sqlite
