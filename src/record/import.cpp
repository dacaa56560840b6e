#include <algorithm>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <system_error>
#include <utility>

#include <nlohmann/json.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/record_exchange.hpp"
#include "record/files.hpp"
#include "record/inside.hpp"
#include "record/zip.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using PlainJson = nlohmann::json;
using sqlite::Database;

// An entry with its report has some 300 kB, the list of a thousand knives some MB; read as JSON it
// takes some twenty times its size.
constexpr std::size_t kMostJsonBytes = std::size_t{1} << 24U;
constexpr std::size_t kMostPhotoBytes = std::size_t{1} << 30U;

/// Where an export is read from.
struct Source {
  std::vector<std::string> names;  ///< "entries/....json" and so on.
  std::function<std::optional<std::string>(const std::string&, std::size_t)> read;
};

Source folder_source(const fs::path& folder) {
  Source source;
  std::error_code ignored;
  for (const fs::directory_entry& file : fs::directory_iterator(folder / "entries", ignored)) {
    source.names.push_back("entries/" + file.path().filename().string());
  }
  std::ranges::sort(source.names);
  source.read = [folder](const std::string& name, std::size_t most) -> std::optional<std::string> {
    std::error_code fault;
    if (!fs::is_regular_file(folder / name, fault) || fs::file_size(folder / name, fault) > most) {
      return std::nullopt;
    }
    return read_whole(folder / name);
  };
  return source;
}

Source zip_source(const fs::path& file) {
  const auto zip = std::make_shared<ZipReader>(file);
  return {zip->names(),
          [zip](const std::string& name, std::size_t most) { return zip->read(name, most); }};
}

bool is_entry(const std::string& name) {
  return name.starts_with("entries/") && name.ends_with(".json") &&
         name.find('/', 8) == std::string::npos;
}

class Import {
 public:
  Import(Record& record, Source source) : record_(record), source_(std::move(source)) {}

  Imported run() {
    read_knives();
    std::vector<WholeEntry> entries;
    for (const std::string& name : source_.names) {
      if (is_entry(name)) take_file(name, entries);
    }
    // In the order they were made, whatever their files are called.
    std::ranges::stable_sort(entries, {}, [](const WholeEntry& w) { return w.entry.added; });
    if (!entries.empty()) flush_all(record_photos(record_.file()));
    sqlite::Transaction transaction(database());
    for (const WholeEntry& whole : entries) insert(whole);
    take_knife_facts();
    take_knife_notes();
    transaction.commit();
    return result_;
  }

 private:
  using NameAndRemoved = std::pair<std::string, std::string>;  ///< Not removed: empty.

  Database& database() { return record_.inside().database; }

  void leave_out(const std::string& sentence) { result_.left_out.push_back(sentence); }

  void read_knives() {
    const auto text = source_.read("record.json", kMostJsonBytes);
    const PlainJson record = text ? PlainJson::parse(*text, nullptr, false) : PlainJson();
    if (!record.is_object() || record.value("schema", "") != "evenbevel.record/1") {
      throw Error("this is not an export of a record: record.json is missing or damaged",
                  "give the folder or the zip that 'evenbevel record export' wrote");
    }
    knives_ = record.value("knives", PlainJson::array());
    for (const PlainJson& knife : knives_) {
      created_.try_emplace({knife.value("name", ""), knife.value("removed", "")},
                           knife.value("created", ""));
    }
  }

  void take_file(const std::string& name, std::vector<WholeEntry>& entries) {
    try {
      const auto text = source_.read(name, kMostJsonBytes);
      if (!text) throw Error("it cannot be read", "");
      WholeEntry whole = read_entry_copy(*text);
      if (is_there(whole)) {
        ++result_.were_there;
      } else if (store(name, whole)) {
        entries.push_back(std::move(whole));
      }
    } catch (const Error& e) {
      leave_out(name + " is left out: " + e.what() + ".");
    }
  }

  /// In the bin or not: an entry of the same report, knife and time.
  bool is_there(const WholeEntry& whole) {
    auto query = database().prepare(
        "SELECT count(*) FROM entry JOIN knife ON knife.id = entry.knife WHERE entry.report = ? "
        "AND "
        "(entry.removed IS NULL OR (knife.name = ? COLLATE NOCASE AND entry.added = ?))");
    return query.with(whole.entry.report, whole.entry.knife, whole.entry.added).step() &&
           query.integer(0) > 0;
  }

  /// Photos and the entry's copy; they are on the disk before any row is.
  bool store(const std::string& name, const WholeEntry& whole) {
    make_folder(record_photos(record_.file()) / "entries");
    for (const RecordedPhoto& photo : whole.entry.photos) {
      const fs::path path = record_.photo_path(photo);
      if (holds(path, photo.sha256)) continue;
      const auto bytes = source_.read("photos/" + photo.file, kMostPhotoBytes);
      if (!bytes || sha256(*bytes) != photo.sha256) {
        leave_out(name + " is left out: its photo " + photo.name + " is missing or damaged.");
        return false;
      }
      write_replacing(path, *bytes);
    }
    write_replacing(entry_copy_path(record_.file(), whole.entry.report), entry_copy_text(whole));
    return true;
  }

  void insert(const WholeEntry& whole) {
    if (is_there(whole)) {  // twice in the export, or another process was faster
      ++result_.were_there;
      return;
    }
    insert_entry(database(), knife_of(whole.entry), whole);
    ++result_.entries;
  }

  /// A knife that went to the bin as a whole comes into the bin as a whole.
  std::int64_t knife_of(const RecordEntry& entry) {
    const NameAndRemoved as_whole{entry.knife, entry.removed};
    if (entry.removed.empty() || !created_.contains(as_whole)) {
      return knife_id_or_new(database(), entry.knife, created({entry.knife, ""}, entry));
    }
    const auto [known, fresh] = binned_.try_emplace(as_whole, 0);
    if (fresh) {
      database()
          .prepare("INSERT INTO knife (name, created, removed) VALUES (?, ?, ?)")
          .with(entry.knife, created(as_whole, entry), entry.removed)
          .run();
      known->second = database().last_row();
    }
    return known->second;
  }

  /// With its first entry, where the export does not say.
  std::string created(const NameAndRemoved& knife, const RecordEntry& entry) const {
    const auto said = created_.find(knife);
    return said == created_.end() || said->second.empty() ? entry.added : said->second;
  }

  /// What this record knows of a knife already stays.
  void take_knife_facts() {
    for (const PlainJson& knife : knives_) {
      const PlainJson facts = knife.value("facts", PlainJson::object());
      if (knife.contains("removed") || facts.empty()) continue;
      const std::string name = checked_name(knife.value("name", ""), "knife");
      const std::string when = knife.value("created", utc_now());
      const std::int64_t id = knife_id_or_new(database(), name, when);
      const KnifeFacts known = fact_rows(database(), id);
      for (const auto& [of, mm] : facts.items()) {
        const std::optional<KnifeFact> fact = knife_fact_named(of);
        const bool length = mm.is_number() && mm.get<double>() > 0.0;
        if (!fact || !length || known.contains(*fact)) continue;
        insert_fact(database(), id, {.fact = *fact, .mm = mm.get<double>()}, when);
      }
    }
  }

  void take_knife_notes() {
    for (const PlainJson& knife : knives_) {
      if (knife.contains("removed")) continue;
      const std::int64_t id = knife_id(database(), knife.value("name", ""));
      if (id == 0) continue;
      for (const PlainJson& note : knife.value("notes", PlainJson::array())) {
        database()
            .prepare(
                "INSERT INTO note (knife, text, written) SELECT ?1, ?2, ?3 WHERE NOT EXISTS "
                "(SELECT 1 FROM note WHERE knife = ?1 AND text = ?2 AND written = ?3)")
            .with(id, note.value("text", ""), note.value("written", ""))
            .run();
      }
    }
  }

  Record& record_;
  Source source_;
  PlainJson knives_;  ///< A list.
  std::map<NameAndRemoved, std::string> created_;
  std::map<NameAndRemoved, std::int64_t> binned_;
  Imported result_;
};

}  // namespace

Imported import_everything(Record& record, const fs::path& source) {
  if (!fs::exists(source)) {
    throw Error("there is no " + source.string(), "check the name");
  }
  try {
    return Import(record, fs::is_directory(source) ? folder_source(source) : zip_source(source))
        .run();
  } catch (const PlainJson::exception&) {
    throw Error("record.json in " + source.string() + " is damaged",
                "give the folder or the zip that 'evenbevel record export' wrote");
  }
}

}  // namespace evenbevel
