#include <algorithm>
#include <functional>
#include <system_error>

#include <nlohmann/json.hpp>
#include <unistd.h>

#include "evenbevel/error.hpp"
#include "evenbevel/record_exchange.hpp"
#include "record/files.hpp"
#include "record/inside.hpp"
#include "record/zip.hpp"
#include "report/csv_pieces.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;
using sqlite::Database;

std::string number(double value) { return Json(value).dump(); }

Json notes_json(Database& database, const std::string& condition, std::int64_t id) {
  auto query =
      database.prepare("SELECT text, written FROM note WHERE " + condition + " ORDER BY id");
  query.with(id);
  Json notes = Json::array();
  while (query.step()) notes.push_back({{"text", query.text(0)}, {"written", query.text(1)}});
  return notes;
}

Json quantity_json(const RecordedValue& value) {
  Json json = {{"name", value.name}, {"value", value.value}, {"u", value.u}, {"U95", value.U95}};
  if (value.at != 0.0) json["at"] = value.at;
  return json;
}

Json entry_json(Database& database, RecordEntry entry) {
  fill_entry(database, entry);
  Json json = {{"id", entry.id},           {"stage", entry.stage}, {"view", entry.view},
               {"verdict", entry.verdict}, {"added", entry.added}, {"report_sha256", entry.report}};
  if (!entry.removed.empty()) json["removed"] = entry.removed;
  json["photos"] = Json::array();
  for (const RecordedPhoto& photo : entry.photos) {
    json["photos"].push_back(
        {{"sha256", photo.sha256}, {"name", photo.name}, {"face", photo.face}});
  }
  json["notes"] = notes_json(database, "entry = ?", entry.id);
  json["quantities"] = Json::array();
  for (const RecordedValue& value : entry.values)
    json["quantities"].push_back(quantity_json(value));
  return json;
}

Json facts_json(Database& database, std::int64_t knife) {
  Json json = Json::object();
  for (const auto& [fact, mm] : fact_rows(database, knife)) json[std::string(name(fact))] = mm;
  return json;
}

std::vector<RecordEntry> all_entries(Database& database) {
  return entry_rows(database, "WHERE 0 = ? ORDER BY entry.id", 0);
}

WholeEntry whole_entry(Record& record, RecordEntry entry) {
  Database& database = record.inside().database;
  fill_entry(database, entry);
  WholeEntry whole{.entry = entry, .report_json = record.report_json(entry)};
  auto notes = database.prepare("SELECT text, written FROM note WHERE entry = ? ORDER BY id");
  notes.with(entry.id);
  while (notes.step()) whole.notes.push_back({.text = notes.text(0), .written = notes.text(1)});
  return whole;
}

/// By its number first: in the order of their names they are in the order they were made.
std::string entry_name(const RecordEntry& entry) {
  constexpr std::size_t kDigits = 8;
  const std::string id = std::to_string(entry.id);
  const std::string zeros(kDigits - std::min(kDigits, id.size()), '0');
  return "entries/" + zeros + id + "-" + entry.report + ".json";
}

using Sink = std::function<void(const std::string& name, const std::string& bytes, bool pack)>;

void pour(Record& record, const Sink& sink) {
  sink("record.json", record_json(record), true);
  sink("quantities.csv", record_csv(record), true);
  std::vector<std::string> photos_done;
  for (const RecordEntry& row : all_entries(record.inside().database)) {
    const WholeEntry whole = whole_entry(record, row);
    sink(entry_name(row), entry_copy_text(whole), true);
    for (const RecordedPhoto& photo : whole.entry.photos) {
      if (std::ranges::find(photos_done, photo.file) != photos_done.end()) continue;
      const fs::path path = record.photo_path(photo);
      if (!holds(path, photo.sha256)) {
        throw Error("the photo " + path.string() + " is missing or damaged",
                    "'evenbevel record check' says what else is");
      }
      sink("photos/" + photo.file, read_whole(path), false);
      photos_done.push_back(photo.file);
    }
  }
}

void pour_into_folder(Record& record, const fs::path& folder) {
  make_folder(folder / "entries");
  make_folder(folder / "photos");
  pour(record, [&](const std::string& name, const std::string& bytes, bool) {
    write_durably(folder / name, bytes);
  });
}

void pour_into_zip(Record& record, const fs::path& file) {
  ZipWriter zip(file);
  pour(record, [&](const std::string& name, const std::string& bytes, bool pack) {
    zip.add(name, bytes, pack);
  });
  zip.finish();
}

}  // namespace

std::string record_csv(Record& record) {
  std::string csv = "knife,stage,view,verdict,added,entry,quantity,at,value,u,U95\n";
  Database& database = record.inside().database;
  for (RecordEntry entry :
       entry_rows(database, "WHERE entry.removed IS NULL AND 0 = ? ORDER BY entry.id", 0)) {
    fill_entry(database, entry);
    for (const RecordedValue& value : entry.values) {
      csv += csv_text(entry.knife) + "," + csv_text(entry.stage) + "," + csv_text(entry.view) +
             "," + csv_text(entry.verdict) + "," + entry.added + "," + std::to_string(entry.id) +
             "," + csv_text(value.name) + "," + (value.at == 0.0 ? "" : number(value.at)) + "," +
             number(value.value) + "," + number(value.u) + "," + number(value.U95) + "\n";
    }
  }
  return csv;
}

std::string record_json(Record& record) {
  Database& database = record.inside().database;
  Json json = {{"schema", "evenbevel.record/1"}, {"units", {{"length", "mm"}, {"angle", "deg"}}}};
  json["knives"] = Json::array();
  auto knives = database.prepare("SELECT id, name, created, removed FROM knife ORDER BY id");
  while (knives.step()) {
    Json knife = {{"name", knives.text(1)}, {"created", knives.text(2)}};
    if (!knives.is_null(3)) knife["removed"] = knives.text(3);
    knife["notes"] = notes_json(database, "entry IS NULL AND knife = ?", knives.integer(0));
    Json facts = facts_json(database, knives.integer(0));
    if (!facts.empty()) knife["facts"] = std::move(facts);
    knife["entries"] = Json::array();
    for (const RecordEntry& entry :
         entry_rows(database, "WHERE knife.id = ? ORDER BY entry.id", knives.integer(0))) {
      knife["entries"].push_back(entry_json(database, entry));
    }
    json["knives"].push_back(knife);
  }
  return json.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

void export_everything(Record& record, const fs::path& target) {
  if (fs::exists(target)) {
    throw Error(target.string() + " is there already", "give a new name");
  }
  const fs::path temporary = target.string() + "." + std::to_string(::getpid()) + ".new";
  std::error_code fault;
  fs::remove_all(temporary, fault);
  try {
    if (target.extension() == ".zip") {
      pour_into_zip(record, temporary);
    } else {
      pour_into_folder(record, temporary);
    }
    fs::rename(temporary, target);
  } catch (...) {
    fs::remove_all(temporary, fault);
    throw;
  }
}

}  // namespace evenbevel
