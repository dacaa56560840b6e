#include <algorithm>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <system_error>

#include "evenbevel/error.hpp"
#include "record/files.hpp"
#include "record/inside.hpp"
#include "record/schema.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using sqlite::Database;
using sqlite::Query;

struct OldKnife {
  std::string name = {}, created = {}, removed = {};
};

/// What was read, by the damaged record's own numbers where those could be read.
struct Findings {
  std::map<std::int64_t, OldKnife> knives = {};
  std::map<std::int64_t, std::int64_t> knife_of_entry = {};
  std::map<std::int64_t, WholeEntry> entries = {};
  std::map<std::string, std::string> reports = {};  ///< By SHA-256.
  std::map<std::string, WholeEntry> copies = {};    ///< By the report's SHA-256.
  struct Note {
    std::int64_t knife, entry;
    std::string text = {}, written = {};
  };
  std::vector<Note> notes = {};
  struct Fact {
    std::int64_t knife;
    SaidFact fact;
    std::string said = {};
  };
  std::vector<Fact> facts = {};
};

/// Row after row by its number, so that a damaged page costs its own rows only. The numbers have no
/// gaps, as nothing is ever deleted: a long stretch of nothing is the end.
void each_row(Database& database, const std::string& sql,
              const std::function<void(std::int64_t, const Query&)>& take) {
  constexpr std::int64_t kLongestGap = 5000;
  Query query = database.prepare(sql);
  std::int64_t gap = 0;
  for (std::int64_t id = 1; gap < kLongestGap; ++id) {
    const bool there = query.with(id).try_step() == SQLITE_ROW;
    gap = there ? 0 : gap + 1;
    if (there) take(id, query);
  }
}

void tried(const std::function<void()>& part) {
  try {
    part();
  } catch (const Error&) {
    return;  // that part of the database is gone; the copies stand in
  }
}

void read_database(const fs::path& file, Findings& found) {
  std::optional<Database> database;
  tried([&] { database.emplace(file, sqlite::Open::existing); });
  if (!database) return;
  tried([&] {
    each_row(*database, "SELECT name, created, removed FROM knife WHERE id = ?",
             [&](std::int64_t id, const Query& row) {
               found.knives[id] = {row.text(0), row.text(1), row.text(2)};
             });
  });
  tried([&] {
    each_row(*database, "SELECT sha256, json FROM report WHERE rowid = ?",
             [&](std::int64_t, const Query& row) {
               if (sha256(row.text(1)) == row.text(0)) found.reports[row.text(0)] = row.text(1);
             });
  });
  tried([&] {
    each_row(*database, "SELECT knife, stage, added, removed, report FROM entry WHERE id = ?",
             [&](std::int64_t id, const Query& row) {
               found.knife_of_entry[id] = row.integer(0);
               found.entries[id].entry = {.id = id,
                                          .stage = row.text(1),
                                          .added = row.text(2),
                                          .removed = row.text(3),
                                          .report = row.text(4)};
             });
  });
  tried([&] {
    each_row(*database, "SELECT knife, entry, text, written FROM note WHERE id = ?",
             [&](std::int64_t, const Query& row) {
               found.notes.push_back({row.integer(0), row.integer(1), row.text(2), row.text(3)});
             });
  });
  tried([&] {
    each_row(*database, "SELECT knife, name, mm, said FROM knife_fact WHERE id = ?",
             [&](std::int64_t, const Query& row) {
               const std::optional<KnifeFact> fact = knife_fact_named(row.text(1));
               if (!fact) return;
               const auto mm = row.is_null(2) ? std::nullopt : std::optional(row.real(2));
               found.facts.push_back({row.integer(0), {*fact, mm}, row.text(3)});
             });
  });
  for (auto& [id, whole] : found.entries) {
    tried([&, entry_id = id, entry = &whole] {
      RecordEntry filled{.id = entry_id};
      fill_entry(*database, filled);
      entry->entry.photos = filled.photos;
    });
  }
}

void read_copies(const fs::path& file, Findings& found) {
  std::error_code ignored;
  for (const fs::directory_entry& copy :
       fs::directory_iterator(record_photos(file) / "entries", ignored)) {
    if (copy.path().extension() != ".json") continue;
    tried([&] {
      WholeEntry whole = read_entry_copy(read_whole(copy.path()));
      found.copies[whole.entry.report] = std::move(whole);
    });
  }
}

/// Fills a new record.
class Rescue {
 public:
  Rescue(fs::path damaged, const fs::path& target, Findings found)
      : damaged_(std::move(damaged)),
        target_(target),
        record_(Record::open_or_make(target)),
        found_(std::move(found)) {}

  Rescued run() {
    make_folder(record_photos(target_) / "entries");
    sqlite::Transaction transaction(database());
    for (auto& [id, whole] : found_.entries) take_row(id, whole);
    take_copies();
    for (const Findings::Note& note : found_.notes) take_note(note);
    take_notes_of_copies();
    for (const Findings::Fact& fact : found_.facts) take_fact(fact);
    transaction.commit();
    return result_;
  }

 private:
  Database& database() { return record_.inside().database; }

  void take_row(std::int64_t id, WholeEntry& whole) {
    const auto copy = found_.copies.find(whole.entry.report);
    const auto report = found_.reports.find(whole.entry.report);
    if (copy == found_.copies.end() && report == found_.reports.end()) {
      result_.lost.push_back("Entry " + std::to_string(id) + " (" + whole.entry.stage + ", " +
                             whole.entry.added + "): its report cannot be read any more.");
      return;
    }
    const std::string copy_knife = copy == found_.copies.end() ? "" : copy->second.entry.knife;
    complete(whole, copy, report);
    // Whether the knife had gone to the bin is lost with its row: rather shown than hidden.
    if (!found_.knives.contains(found_.knife_of_entry[id])) whole.entry.removed.clear();
    add(id, knife_for(found_.knife_of_entry[id], copy_knife, whole.entry.added), whole);
  }

  void complete(WholeEntry& whole, const std::map<std::string, WholeEntry>::iterator& copy,
                const std::map<std::string, std::string>::iterator& report) {
    whole.report_json = report != found_.reports.end() ? report->second : copy->second.report_json;
    const ReportFacts facts = report_facts(whole.report_json);
    whole.entry.view = facts.view;
    whole.entry.verdict = facts.verdict;
    whole.entry.values = facts.values;
    if (copy != found_.copies.end() && whole.entry.photos.size() < facts.photos.size()) {
      whole.entry.photos = copy->second.entry.photos;
    }
  }

  /// Entries whose rows are gone, oldest first.
  void take_copies() {
    std::vector<WholeEntry> rest;
    for (const auto& [report, whole] : found_.copies) {
      if (!taken_.contains(report)) rest.push_back(whole);
    }
    std::ranges::stable_sort(rest, {}, [](const WholeEntry& w) { return w.entry.added; });
    for (WholeEntry& whole : rest) {
      add(0, knife_id_or_new(database(), whole.entry.knife, whole.entry.added), whole);
    }
  }

  std::int64_t knife_for(std::int64_t old, const std::string& copy_name, const std::string& added) {
    if (const auto known = new_knives_.find(old); known != new_knives_.end()) return known->second;
    const auto row = found_.knives.find(old);
    OldKnife knife;
    if (row != found_.knives.end()) knife = row->second;
    if (knife.name.empty()) knife.name = copy_name;
    if (knife.name.empty()) knife.name = "rescued knife " + std::to_string(old);
    if (knife.created.empty()) knife.created = added;
    if (knife.removed.empty()) {
      return new_knives_[old] = knife_id_or_new(database(), knife.name, knife.created);
    }
    database()
        .prepare("INSERT INTO knife (name, created, removed) VALUES (?, ?, ?)")
        .with(knife.name, knife.created, knife.removed)
        .run();
    return new_knives_[old] = database().last_row();
  }

  void add(std::int64_t old, std::int64_t knife, WholeEntry& whole) {
    if (!taken_.insert(whole.entry.report).second && whole.entry.removed.empty()) return;
    for (const RecordedPhoto& photo : whole.entry.photos) bring_photo(photo, whole.entry);
    const auto copy = found_.copies.find(whole.entry.report);
    if (copy != found_.copies.end()) whole.notes = copy->second.notes;
    WholeEntry without_notes = whole;  // the database's own notes come first
    without_notes.notes.clear();
    const std::int64_t id = insert_entry(database(), knife, without_notes);
    if (old != 0) new_entries_[old] = id;
    copied_.push_back({knife, id, whole.notes});
    auto name = database().prepare("SELECT name FROM knife WHERE id = ?");
    if (name.with(knife).step()) whole.entry.knife = name.text(0);
    write_durably(entry_copy_path(target_, whole.entry.report), entry_copy_text(whole));
    ++result_.entries;
  }

  void bring_photo(const RecordedPhoto& photo, const RecordEntry& entry) {
    const fs::path from = record_photos(damaged_) / photo.file;
    const fs::path to = record_photos(target_) / photo.file;
    if (!holds(from, photo.sha256)) {
      result_.lost.push_back("The photo of " + entry.stage + " (" + entry.added + "), " +
                             photo.name + ", is missing or damaged: its numbers are kept.");
    } else if (!holds(to, photo.sha256)) {
      write_durably(to, read_whole(from));
    }
  }

  void take_note(const Findings::Note& note) {
    const auto knife = new_knives_.find(note.knife);
    if (knife == new_knives_.end()) return;
    const auto entry = new_entries_.find(note.entry);
    if (note.entry != 0 && entry != new_entries_.end()) {
      add_note(knife->second, entry->second, note.text, note.written);
    } else {
      database()
          .prepare("INSERT INTO note (knife, text, written) VALUES (?, ?, ?)")
          .with(knife->second, note.text, note.written)
          .run();
    }
  }

  /// Of a knife without entries too.
  void take_fact(const Findings::Fact& fact) {
    if (!found_.knives.contains(fact.knife)) return;
    insert_fact(database(), knife_for(fact.knife, "", fact.said), fact.fact, fact.said);
  }

  /// An entry's first notes stand in its copy too.
  void take_notes_of_copies() {
    for (const Copied& copied : copied_) {
      for (const RecordNote& note : copied.notes) {
        if (written_.contains({copied.entry, note.text})) continue;
        add_note(copied.knife, copied.entry, note.text, note.written);
      }
    }
  }

  void add_note(std::int64_t knife, std::int64_t entry, const std::string& text,
                const std::string& written) {
    database()
        .prepare("INSERT INTO note (knife, entry, text, written) VALUES (?, ?, ?, ?)")
        .with(knife, entry, text, written)
        .run();
    written_.insert({entry, text});
  }

  struct Copied {
    std::int64_t knife, entry;
    std::vector<RecordNote> notes;
  };

  fs::path damaged_, target_;
  Record record_;
  Findings found_;
  std::map<std::int64_t, std::int64_t> new_knives_, new_entries_;
  std::set<std::string> taken_;
  std::vector<Copied> copied_;
  std::set<std::pair<std::int64_t, std::string>> written_;
  Rescued result_;
};

}  // namespace

Rescued rescue_record(const fs::path& damaged, const fs::path& target) {
  if (!fs::exists(damaged)) {
    throw Error("there is no record at " + damaged.string(), "give its file with --record");
  }
  if (fs::exists(target)) {
    throw Error(target.string() + " is there already", "give a new name for what is rescued");
  }
  Findings found;
  read_database(damaged, found);
  read_copies(damaged, found);
  return Rescue(damaged, target, std::move(found)).run();
}

}  // namespace evenbevel
