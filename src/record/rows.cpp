#include <algorithm>

#include "evenbevel/error.hpp"
#include "record/inside.hpp"

namespace evenbevel {

using sqlite::Database;

std::int64_t knife_id(Database& database, const std::string& name) {
  auto query =
      database.prepare("SELECT id FROM knife WHERE name = ? COLLATE NOCASE AND removed IS NULL");
  return query.with(name).step() ? query.integer(0) : 0;
}

std::int64_t known_knife_id(Database& database, const std::string& name) {
  if (const std::int64_t id = knife_id(database, name); id != 0) return id;
  std::string known;
  auto query =
      database.prepare("SELECT name FROM knife WHERE removed IS NULL ORDER BY id DESC LIMIT 8");
  while (query.step()) known += (known.empty() ? "" : ", ") + query.text(0);
  throw Error("the record has no knife called " + name,
              known.empty()
                  ? "'evenbevel record add' puts the first one in"
                  : "the newest there are: " + known + "; 'evenbevel record list' shows all");
}

std::int64_t knife_id_or_new(Database& database, const std::string& name,
                             const std::string& created) {
  if (const std::int64_t id = knife_id(database, name); id != 0) return id;
  database.prepare("INSERT INTO knife (name, created) VALUES (?, ?)").with(name, created).run();
  return database.last_row();
}

std::int64_t insert_entry(Database& database, std::int64_t knife, const WholeEntry& whole) {
  const RecordEntry& entry = whole.entry;
  database.prepare("INSERT INTO report (sha256, json) VALUES (?, ?) ON CONFLICT DO NOTHING")
      .with(entry.report, whole.report_json)
      .run();
  // A stage typed in other capitals is the same stage.
  database
      .prepare(
          "INSERT INTO entry (knife, stage, view, verdict, added, report, removed) VALUES (?1, "
          "coalesce((SELECT stage FROM entry WHERE knife = ?1 AND stage = ?2 COLLATE NOCASE "
          "ORDER BY id LIMIT 1), ?2), ?3, ?4, ?5, ?6, nullif(?7, ''))")
      .with(knife, entry.stage, entry.view, entry.verdict, entry.added, entry.report, entry.removed)
      .run();
  const std::int64_t id = database.last_row();
  std::int64_t position = 0;
  for (const RecordedPhoto& photo : entry.photos) {
    database.prepare("INSERT INTO photo (sha256, file) VALUES (?, ?) ON CONFLICT DO NOTHING")
        .with(photo.sha256, photo.file)
        .run();
    database
        .prepare(
            "INSERT INTO entry_photo (entry, position, photo, name, face) "
            "VALUES (?, ?, ?, ?, ?)")
        .with(id, position++, photo.sha256, photo.name, photo.face)
        .run();
  }
  auto quantity = database.prepare(
      "INSERT INTO quantity (entry, name, at, value, u, U95) VALUES (?, ?, ?, ?, ?, ?)");
  for (const RecordedValue& value : entry.values) {
    quantity.with(id, value.name, value.at, value.value, value.u, value.U95).run();
  }
  for (const RecordNote& note : whole.notes) {
    database.prepare("INSERT INTO note (knife, entry, text, written) VALUES (?, ?, ?, ?)")
        .with(knife, id, note.text, note.written)
        .run();
  }
  return id;
}

std::vector<RecordEntry> entry_rows(Database& database, const std::string& condition,
                                    std::int64_t parameter) {
  auto query = database.prepare(
      "SELECT entry.id, knife.name, entry.stage, entry.view, entry.verdict, entry.added, "
      "entry.removed, entry.report FROM entry JOIN knife ON knife.id = entry.knife " +
      condition);
  std::vector<RecordEntry> entries;
  query.with(parameter);
  while (query.step()) {
    entries.push_back({.id = query.integer(0),
                       .knife = query.text(1),
                       .stage = query.text(2),
                       .view = query.text(3),
                       .verdict = query.text(4),
                       .added = query.text(5),
                       .removed = query.text(6),
                       .report = query.text(7)});
  }
  return entries;
}

/// Of the report itself, so that entries of any age have it; one that is no JSON says nothing.
void fill_origin(Database& database, RecordEntry& entry) {
  auto report = database.prepare(
      "SELECT CASE WHEN json_type(json, '$.x_origin') = 'text' THEN json_extract(json, "
      "'$.x_origin') ELSE '' END, CASE WHEN json_type(json, '$.tip_x') IN ('real', 'integer') THEN "
      "json_extract(json, '$.tip_x') END FROM report WHERE sha256 = ? AND json_valid(json)");
  if (!report.with(entry.report).step()) return;
  entry.x_origin = report.text(0);
  if (!report.is_null(1)) entry.tip_x_mm = report.real(1);
}

void fill_entry(Database& database, RecordEntry& entry) {
  fill_origin(database, entry);
  auto values = database.prepare(
      "SELECT name, at, value, u, U95 FROM quantity WHERE entry = ? ORDER BY name, at");
  values.with(entry.id);
  while (values.step()) {
    entry.values.push_back(
        {values.text(0), values.real(1), values.real(2), values.real(3), values.real(4)});
  }
  auto photos = database.prepare(
      "SELECT photo.sha256, photo.file, entry_photo.name, entry_photo.face FROM entry_photo JOIN "
      "photo ON photo.sha256 = entry_photo.photo WHERE entry_photo.entry = ? ORDER BY position");
  photos.with(entry.id);
  while (photos.step()) {
    RecordedPhoto photo{photos.text(0), photos.text(1), photos.text(2), photos.text(3)};
    if (!is_photo_file(photo.file, photo.sha256)) {
      throw Error("the record names a photo by a file that is not its own: " + photo.file,
                  "'evenbevel record check --rescue NEW' takes the name from the entry's copy");
    }
    entry.photos.push_back(std::move(photo));
  }
}

std::vector<KnifeLine> Record::list(bool bin) {
  Database& database = inside_->database;
  auto knives =
      database.prepare(std::string("SELECT knife.id, knife.name, knife.removed, count(entry.id), "
                                   "max(entry.id) FROM knife LEFT JOIN entry ON "
                                   "entry.knife = knife.id AND entry.removed IS knife.removed "
                                   "WHERE knife.removed IS ") +
                       (bin ? "NOT NULL" : "NULL") +
                       " GROUP BY knife.id ORDER BY max(entry.id) DESC, knife.id DESC");
  auto last = database.prepare("SELECT stage, added, view, verdict FROM entry WHERE id = ?");
  auto offset = database.prepare(
      "SELECT q.name, q.at, q.value, q.u, q.U95 FROM entry JOIN quantity q ON q.entry = entry.id "
      "AND q.name = 'centreline_offset' WHERE entry.knife = ?1 AND entry.removed IS "
      "(SELECT removed FROM knife WHERE id = ?1) ORDER BY entry.id DESC LIMIT 1");
  std::vector<KnifeLine> lines;
  while (knives.step()) {
    KnifeLine line{.name = knives.text(1), .entries = knives.integer(3), .removed = knives.text(2)};
    if (last.with(knives.integer(4)).step()) {
      line.last_stage = last.text(0);
      line.last_added = last.text(1);
      line.last_view = last.text(2);
      line.last_verdict = last.text(3);
    }
    if (offset.with(knives.integer(0)).step()) {
      line.offset = {offset.text(0), offset.real(1), offset.real(2), offset.real(3),
                     offset.real(4)};
    }
    lines.push_back(line);
  }
  return lines;
}

Knife Record::knife(const std::string& name) {
  Database& database = inside_->database;
  const std::int64_t id = known_knife_id(database, name);
  Knife knife;
  auto row = database.prepare("SELECT name, created FROM knife WHERE id = ?");
  if (row.with(id).step()) {
    knife.name = row.text(0);
    knife.created = row.text(1);
  }
  knife.facts = fact_rows(database, id);
  knife.entries =
      entry_rows(database, "WHERE entry.knife = ? AND entry.removed IS NULL ORDER BY entry.id", id);
  for (RecordEntry& entry : knife.entries) fill_entry(database, entry);
  auto notes = database.prepare(
      "SELECT note.entry, note.text, note.written FROM note LEFT JOIN entry ON entry.id = "
      "note.entry WHERE note.knife = ? AND entry.removed IS NULL ORDER BY note.id");
  notes.with(id);
  while (notes.step()) knife.notes.push_back({notes.integer(0), notes.text(1), notes.text(2)});
  return knife;
}

std::vector<RecordEntry> Record::binned_entries() {
  Database& database = inside_->database;
  return entry_rows(database,
                    "WHERE entry.removed IS NOT NULL AND knife.removed IS NULL AND 0 = ? "
                    "ORDER BY entry.removed",
                    0);
}

std::string Record::report_json(const RecordEntry& entry) {
  auto query = inside_->database.prepare("SELECT json FROM report WHERE sha256 = ?");
  return query.with(entry.report).step() ? query.text(0) : std::string();
}

Statement Record::statement(const RecordEntry& entry) { return read_statement(report_json(entry)); }

std::vector<std::string> Knife::stages() const {
  std::vector<std::string> stages;
  for (const RecordEntry& entry : entries) {
    if (std::ranges::find(stages, entry.stage) == stages.end()) stages.push_back(entry.stage);
  }
  return stages;
}

}  // namespace evenbevel
