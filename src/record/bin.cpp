#include "evenbevel/error.hpp"
#include "record/inside.hpp"

namespace evenbevel {
namespace {

using sqlite::Database;

/// The entry's knife must be there, and no other entry may hold the same report.
void refuse_if_report_in_use(Database& database, const std::string& condition, std::int64_t id) {
  auto query = database.prepare(
      "SELECT entry.stage, other_knife.name FROM entry JOIN entry other ON other.report = "
      "entry.report AND other.removed IS NULL JOIN knife other_knife ON other_knife.id = "
      "other.knife WHERE " +
      condition);
  if (!query.with(id).step()) return;
  throw Error("the report of '" + query.text(0) + "' is in the record again, for the knife " +
                  query.text(1),
              "remove that entry first, then restore this one");
}

}  // namespace

void Record::remove_knife(const std::string& name, const std::string& when) {
  Database& database = inside_->database;
  sqlite::Transaction transaction(database);
  const std::int64_t knife = known_knife_id(database, name);
  database.prepare("UPDATE entry SET removed = ? WHERE knife = ? AND removed IS NULL")
      .with(when, knife)
      .run();
  database.prepare("UPDATE knife SET removed = ? WHERE id = ?").with(when, knife).run();
  transaction.commit();
}

void Record::remove_entry(const std::string& name, std::int64_t id, const std::string& when) {
  Database& database = inside_->database;
  sqlite::Transaction transaction(database);
  const std::int64_t knife = known_knife_id(database, name);
  database.prepare("UPDATE entry SET removed = ? WHERE id = ? AND knife = ? AND removed IS NULL")
      .with(when, id, knife)
      .run();
  if (database.number("SELECT changes()") != 1) {
    throw Error("the knife " + name + " has no entry " + std::to_string(id),
                "'evenbevel record show' lists its entries with their numbers");
  }
  transaction.commit();
}

void Record::restore_knife(const std::string& name) {
  Database& database = inside_->database;
  sqlite::Transaction transaction(database);
  auto query = database.prepare(
      "SELECT id FROM knife WHERE name = ? COLLATE NOCASE AND removed IS NOT NULL "
      "ORDER BY removed DESC, id DESC LIMIT 1");
  if (!query.with(name).step()) {
    throw Error("the bin has no knife called " + name,
                "'evenbevel record list --bin' shows what is in it");
  }
  const std::int64_t knife = query.integer(0);
  if (knife_id(database, name) != 0) {
    throw Error("there is a knife called " + name + " in the record again",
                "remove that one first, then restore this one");
  }
  const char* same =
      "entry.knife = ? AND entry.removed = (SELECT removed FROM knife WHERE id = "
      "entry.knife)";
  refuse_if_report_in_use(database, same, knife);
  database
      .prepare(
          "UPDATE entry SET removed = NULL WHERE knife = ?1 AND removed = "
          "(SELECT removed FROM knife WHERE id = ?1)")
      .with(knife)
      .run();
  database.prepare("UPDATE knife SET removed = NULL WHERE id = ?").with(knife).run();
  transaction.commit();
}

void Record::restore_entry(std::int64_t id) {
  Database& database = inside_->database;
  sqlite::Transaction transaction(database);
  refuse_if_report_in_use(database, "entry.id = ?", id);
  database
      .prepare(
          "UPDATE entry SET removed = NULL WHERE id = ? AND removed IS NOT NULL AND "
          "(SELECT removed FROM knife WHERE knife.id = entry.knife) IS NULL")
      .with(id)
      .run();
  if (database.number("SELECT changes()") != 1) {
    throw Error("the bin has no entry " + std::to_string(id) + " of a knife in the record",
                "'evenbevel record list --bin' shows what is in it");
  }
  transaction.commit();
}

}  // namespace evenbevel
