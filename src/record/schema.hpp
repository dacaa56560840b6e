#pragma once

#include <filesystem>

#include "record/sqlite.hpp"

namespace evenbevel {

/// Kept in PRAGMA user_version.
inline constexpr int kSchemaVersion = 3;
/// Kept in PRAGMA application_id: tells a record from any other SQLite database.
inline constexpr std::int64_t kApplicationId = 0x45766265;

/// Opens a record and brings its tables to the present version; an older one is copied beside
/// itself first (FILE.version-N).
/// @throws Error  Another program's database, a newer evenbevel's, damaged, not writable.
sqlite::Database open_record(const std::filesystem::path& file, sqlite::Open how);

}  // namespace evenbevel
