#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include <sqlite3.h>

namespace evenbevel::sqlite {

struct Finalise {
  void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};
struct Close {
  void operator()(sqlite3* database) const { sqlite3_close(database); }
};

/// One prepared statement. Parameters and columns are counted from 0. Must not outlive its
/// Database.
class Query {
 public:
  Query(sqlite3* database, std::string_view sql);

  /// Starts it anew with these parameters, in order.
  template <class... Values>
  Query& with(const Values&... values) {
    restart();
    int position = 0;
    (bind(++position, values), ...);
    return *this;
  }

  /// True: a row is there. @throws Error
  bool step();
  /// To the end, rows ignored. @throws Error
  void run();
  /// As step, but a fault is only a result code: SQLITE_ROW, SQLITE_DONE or what went wrong.
  int try_step() { return sqlite3_step(statement_.get()); }

  std::string text(int column) const;
  std::int64_t integer(int column) const { return sqlite3_column_int64(statement_.get(), column); }
  double real(int column) const { return sqlite3_column_double(statement_.get(), column); }
  bool is_null(int column) const {
    return sqlite3_column_type(statement_.get(), column) == SQLITE_NULL;
  }

 private:
  void restart();
  void bind(int position, std::int64_t value);
  void bind(int position, double value);
  void bind(int position, std::string_view text);
  void bind(int position, const std::string& text) { bind(position, std::string_view(text)); }
  void bind(int position, const char* text) { bind(position, std::string_view(text)); }
  void check(int code) const;

  sqlite3* database_;
  std::unique_ptr<sqlite3_stmt, Finalise> statement_;
};

enum class Open {
  existing,
  create,
  unchanging,  ///< On a medium that cannot be written: nobody else changes it either.
};

/// A connection. Another process's lock is waited for, 20 s at most. Every commit is on the disk
/// when it returns.
class Database {
 public:
  /// @throws Error  Cannot be opened, or no SQLite database.
  Database(const std::filesystem::path& file, Open how);

  /// One or several statements without parameters. @throws Error
  void run(const std::string& sql);
  Query prepare(std::string_view sql) { return {connection_.get(), sql}; }
  std::int64_t last_row() const { return sqlite3_last_insert_rowid(connection_.get()); }
  /// The first column of the first row; 0 without a row.
  std::int64_t number(std::string_view sql);

 private:
  std::unique_ptr<sqlite3, Close> connection_;
};

/// From BEGIN IMMEDIATE, so that who reads first and writes then is not overtaken, to commit();
/// undone when it ends without.
class Transaction {
 public:
  explicit Transaction(Database& database);
  ~Transaction();
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  void commit();

 private:
  Database& database_;
  bool open_ = true;
};

}  // namespace evenbevel::sqlite
