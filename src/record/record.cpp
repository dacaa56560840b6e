#include "evenbevel/record.hpp"

#include <algorithm>
#include <array>
#include <ctime>
#include <system_error>

#include <strings.h>

#include "evenbevel/error.hpp"
#include "evenbevel/folders.hpp"
#include "evenbevel/photo.hpp"
#include "record/files.hpp"
#include "record/inside.hpp"
#include "record/schema.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using sqlite::Database;

/// ".jpg"; empty unless it is a plain short ending.
std::string ending_of(const fs::path& photo) {
  std::string ending = photo.extension().string();
  for (char& c : ending) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
  const bool plain = std::all_of(ending.begin(), ending.end(), [](char c) {
    return c == '.' || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
  });
  return plain && ending.size() <= 6 ? ending : "";
}

/// Where the report's photo may be, the likeliest first.
std::vector<fs::path> places_of(const StatedPhoto& photo, const NewEntry& entry) {
  std::vector<fs::path> places = entry.photos;
  places.emplace_back(photo.name);
  if (!entry.report_folder.empty()) {
    const fs::path base = fs::path(photo.name).filename();
    places.push_back(entry.report_folder / photo.name);
    places.push_back(entry.report_folder / base);
    places.push_back(entry.report_folder.parent_path() / base);
  }
  return places;
}

struct FoundPhoto {
  RecordedPhoto photo;
  std::string bytes;
};

FoundPhoto find_photo(const StatedPhoto& named, const NewEntry& entry,
                      std::vector<Remark>& warnings) {
  std::string others, no_photo;
  for (const fs::path& place : places_of(named, entry)) {
    std::error_code ignored;
    if (!fs::is_regular_file(place, ignored)) continue;
    std::string bytes = read_whole(place);
    // A report may come from anybody, and name any file that can be read here.
    if (!begins_like_photo(bytes)) {
      no_photo = place.string();
      continue;
    }
    const std::string hash = sha256(bytes);
    if (!named.sha256.empty() && hash != named.sha256) {
      others = place.string();
      continue;
    }
    if (named.sha256.empty()) {
      warnings.push_back(remark<RemarkCode::photo_on_trust>(named.name));
    }
    return {{hash, hash + ending_of(named.name), named.name, named.face}, std::move(bytes)};
  }
  if (!others.empty()) {
    throw Error(
        others + " is not the photo that the report was measured from: it has changed since",
        "measure it again, or give the photo as it was with --photo");
  }
  if (!no_photo.empty()) {
    throw Error(no_photo + ", which the report names as its photo, is none",
                "give the photo with --photo FILE, or measure it again");
  }
  throw Error("the photo " + named.name + " that the report names is not there",
              "say where it is with --photo FILE");
}

std::vector<FoundPhoto> find_photos(const ReportFacts& facts, const NewEntry& entry,
                                    std::vector<Remark>& warnings) {
  std::vector<FoundPhoto> photos;
  for (const StatedPhoto& named : facts.photos) {
    // Without hashes several photos cannot be told apart by their contents.
    NewEntry search = entry;
    if (named.sha256.empty() && facts.photos.size() > 1) search.photos.clear();
    photos.push_back(find_photo(named, search, warnings));
  }
  return photos;
}

void store_photos(const fs::path& record_file, const std::vector<FoundPhoto>& photos) {
  const fs::path folder = record_photos(record_file);
  make_folder(folder);
  make_folder(folder / "entries");
  for (const FoundPhoto& found : photos) {
    const fs::path path = folder / found.photo.file;
    if (!holds(path, found.photo.sha256)) write_durably(path, found.bytes);
  }
}

/// Whether the report is there already; fills in where.
bool was_there(Database& database, const std::string& report, Added& added) {
  auto query = database.prepare(
      "SELECT entry.id, knife.name, entry.stage FROM entry JOIN knife ON knife.id = entry.knife "
      "WHERE entry.report = ? AND entry.removed IS NULL");
  if (!query.with(report).step()) return false;
  const bool new_knife = false;
  added = {query.integer(0), query.text(1), query.text(2), new_knife, true, {}};
  return true;
}

}  // namespace

fs::path default_record_file() {
  const std::optional<fs::path> folder = data_folder();
  if (folder) return *folder / "record.sqlite";
  throw Error("there is no home folder for the record", "give a file with --record");
}

fs::path record_photos(const fs::path& record_file) { return record_file.string() + ".photos"; }

bool same_name(const std::string& a, const std::string& b) {
  return ::strcasecmp(a.c_str(), b.c_str()) == 0;
}

std::string utc_now() {
  const std::time_t now = std::time(nullptr);
  std::tm parts{};
  ::gmtime_r(&now, &parts);
  std::array<char, 32> text{};
  const std::size_t length = std::strftime(text.data(), text.size(), "%Y-%m-%dT%H:%M:%SZ", &parts);
  return {text.data(), length};
}

const RecordedValue* find_value(const RecordEntry& entry, const std::string& name, double at) {
  const auto found = std::ranges::find_if(entry.values, [&](const RecordedValue& value) {
    return value.name == name && value.at == at;
  });
  return found == entry.values.end() ? nullptr : &*found;
}

std::string checked_name(const std::string& name, const char* what) {
  const std::size_t first = name.find_first_not_of(" \t");
  const std::size_t last = name.find_last_not_of(" \t");
  const std::string trimmed =
      first == std::string::npos ? "" : name.substr(first, last - first + 1);
  constexpr std::size_t kLongest = 200;
  const bool control = std::ranges::any_of(
      trimmed, [](char c) { return static_cast<unsigned char>(c) < 0x20U || c == 0x7F; });
  if (trimmed.empty() || trimmed.size() > kLongest || control) {
    throw Error(std::string("the ") + what + "'s name is " +
                    (trimmed.empty() ? "empty"
                     : control       ? "not plain text"
                                     : "too long"),
                std::string("give the ") + what + " a name of 1 to 200 characters on one line");
  }
  return trimmed;
}

Record::Record(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
Record::Record(Record&&) noexcept = default;
Record& Record::operator=(Record&&) noexcept = default;
Record::~Record() = default;

Record Record::open(const fs::path& file) {
  if (!fs::exists(file)) {
    throw Error(
        "there is no record yet at " + file.string(),
        "'evenbevel record add KNIFE --at-stage STAGE FOLDER' makes it; another file is given "
        "with --record");
  }
  return Record(
      std::unique_ptr<Inside>(new Inside{file, open_record(file, sqlite::Open::existing)}));
}

Record Record::open_or_make(const fs::path& file) {
  make_folder(fs::absolute(file).parent_path());
  Record record(std::unique_ptr<Inside>(new Inside{file, open_record(file, sqlite::Open::create)}));
  remove_leftovers_in(record_photos(file));
  remove_leftovers_in(record_photos(file) / "entries");
  return record;
}

const fs::path& Record::file() const { return inside_->file; }

fs::path Record::photo_path(const RecordedPhoto& photo) const {
  return record_photos(inside_->file) / photo.file;
}

Added Record::add(const NewEntry& given) {
  Database& database = inside_->database;
  const ReportFacts facts = report_facts(given.report_json);
  WholeEntry whole{.report_json = given.report_json};
  whole.entry = {.knife = checked_name(given.knife, "knife"),
                 .stage = checked_name(given.stage, "stage"),
                 .view = facts.view,
                 .verdict = facts.verdict,
                 .added = given.added,
                 .report = sha256(given.report_json),
                 .values = facts.values};
  Added added;
  if (was_there(database, whole.entry.report, added)) return added;
  const std::vector<FoundPhoto> photos = find_photos(facts, given, added.warnings);
  for (const FoundPhoto& found : photos) whole.entry.photos.push_back(found.photo);
  if (!given.note.empty()) whole.notes.push_back({.text = given.note, .written = given.added});
  store_photos(inside_->file, photos);
  write_durably(entry_copy_path(inside_->file, whole.entry.report), entry_copy_text(whole));

  sqlite::Transaction transaction(database);
  if (was_there(database, whole.entry.report, added)) return added;  // another process was faster
  added.new_knife = knife_id(database, whole.entry.knife) == 0;
  const std::int64_t knife = knife_id_or_new(database, whole.entry.knife, given.added);
  added.id = insert_entry(database, knife, whole);
  transaction.commit();
  const std::vector<RecordEntry> rows = entry_rows(database, "WHERE entry.id = ?", added.id);
  added.knife = rows.front().knife;
  added.stage = rows.front().stage;
  return added;
}

void Record::add_note(const std::string& name, std::int64_t entry, const std::string& text,
                      const std::string& written) {
  Database& database = inside_->database;
  if (text.find_first_not_of(" \t\n") == std::string::npos) {
    throw Error("the note is empty", "give its text in quotes");
  }
  sqlite::Transaction transaction(database);
  const std::int64_t knife = known_knife_id(database, name);
  if (entry == 0) {
    database.prepare("INSERT INTO note (knife, text, written) VALUES (?, ?, ?)")
        .with(knife, text, written)
        .run();
  } else {
    const std::vector<RecordEntry> rows = entry_rows(database, "WHERE entry.id = ?", entry);
    if (rows.empty() || knife_id(database, rows.front().knife) != knife) {
      throw Error("the knife " + name + " has no entry " + std::to_string(entry),
                  "'evenbevel record show' lists its entries with their numbers");
    }
    database.prepare("INSERT INTO note (knife, entry, text, written) VALUES (?, ?, ?, ?)")
        .with(knife, entry, text, written)
        .run();
  }
  transaction.commit();
}

}  // namespace evenbevel
