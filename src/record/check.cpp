#include <algorithm>
#include <functional>
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

class Check {
 public:
  explicit Check(fs::path file) : file_(std::move(file)) {}

  RecordCheck run() {
    guarded([&] { record_ = std::make_unique<Record>(Record::open(file_)); });
    if (record_) {
      guarded([&] { structure(); });
      guarded([&] { entries(); });
      guarded([&] { left_over(); });
    }
    return result_;
  }

 private:
  Database& database() { return record_->inside().database; }

  void guarded(const std::function<void()>& part) {
    try {
      part();
    } catch (const Error& e) {
      fault(std::string(e.what()) + ".");
    }
  }

  /// One bad page makes many parts fail alike: said once.
  void fault(const std::string& sentence) {
    if (std::ranges::find(result_.faults, sentence) == result_.faults.end()) {
      result_.faults.push_back(sentence);
    }
  }

  void structure() {
    auto query = database().prepare("PRAGMA integrity_check(10)");
    while (query.step()) {
      if (query.text(0) != "ok") fault("The database is damaged: " + query.text(0) + ".");
    }
    auto dangling = database().prepare("PRAGMA foreign_key_check");
    while (dangling.step()) {
      fault("A row of the table " + dangling.text(0) + " refers to one that is not there.");
    }
  }

  void entries() {
    std::vector<RecordEntry> rows;
    guarded([&] { rows = entry_rows(database(), "WHERE 0 = ? ORDER BY entry.id", 0); });
    for (RecordEntry& entry : rows) guarded([&] { one(entry); });
    result_.entries = static_cast<std::int64_t>(rows.size());
    result_.photos = static_cast<std::int64_t>(photos_.size());
  }

  void one(RecordEntry& entry) {
    const std::string who =
        "Entry " + std::to_string(entry.id) + " (" + entry.knife + ", " + entry.stage + ")";
    reports_.insert(entry.report);
    fill_entry(database(), entry);
    const std::string json = record_->report_json(entry);
    if (sha256(json) != entry.report) {
      fault(who + ": its report is not what was put in.");
    } else {
      compare_values(entry, report_facts(json), who);
    }
    if (entry.photos.empty()) fault(who + ": no photo is named.");
    for (const RecordedPhoto& photo : entry.photos) check_photo(photo, who);
    const fs::path path = entry_copy_path(file_, entry.report);
    if (const std::optional<WholeEntry> copy = sound_copy(path)) {
      compare_copy(entry, *copy, who);
    } else if (sha256(json) == entry.report) {
      make_folder(path.parent_path());
      write_durably(path, entry_copy_text({.entry = entry, .report_json = json}));
      result_.remarks.push_back(who + ": its copy was missing or damaged and is written again.");
    }
  }

  bool has_entry(const std::string& report, const std::string& added) {
    auto query = database().prepare("SELECT count(*) FROM entry WHERE report = ? AND added = ?");
    return query.with(report, added).step() && query.integer(0) > 0;
  }

  /// What no hash covers stands in the database and in the copy: nobody changes either.
  void compare_copy(const RecordEntry& entry, const WholeEntry& copy, const std::string& who) {
    if (entry.added != copy.entry.added && has_entry(entry.report, copy.entry.added)) {
      return;  // put in again after it had gone to the bin: the copy is that one's
    }
    const auto differs = [&](const char* what, const std::string& here, const std::string& there) {
      fault(who + ": its " + what + " is \"" + here + "\", and \"" + there + "\" in its copy.");
    };
    if (!same_name(entry.knife, copy.entry.knife)) differs("knife", entry.knife, copy.entry.knife);
    if (!same_name(entry.stage, copy.entry.stage)) differs("stage", entry.stage, copy.entry.stage);
    if (entry.added != copy.entry.added) differs("date", entry.added, copy.entry.added);
    for (std::size_t i = 0; i < copy.entry.photos.size() && i < entry.photos.size(); ++i) {
      const RecordedPhoto &here = entry.photos[i], &there = copy.entry.photos[i];
      if (here.name != there.name) differs("photo", here.name, there.name);
      if (here.face != there.face) differs("photo's face", here.face, there.face);
    }
    if (entry.photos.size() != copy.entry.photos.size()) {
      fault(who + ": it has another number of photos than its copy.");
    }
    for (const RecordNote& note : copy.notes) {
      auto same = database().prepare(
          "SELECT count(*) FROM note WHERE entry = ? AND text = ? AND written = ?");
      if (!same.with(entry.id, note.text, note.written).step() || same.integer(0) == 0) {
        fault(who + ": the note in its copy, \"" + note.text + "\" of " + note.written +
              ", is not in the record.");
      }
    }
  }

  void compare_values(const RecordEntry& entry, const ReportFacts& facts, const std::string& who) {
    for (const RecordedValue& stated : facts.values) {
      const RecordedValue* kept = find_value(entry, stated.name, stated.at);
      if (kept != nullptr && kept->value == stated.value && kept->u == stated.u &&
          kept->U95 == stated.U95) {
        continue;
      }
      fault(who + ": " + stated.name + " is not what its report says.");
    }
    if (entry.values.size() != facts.values.size()) {
      fault(who + ": it has quantities that its report does not have.");
    }
  }

  void check_photo(const RecordedPhoto& photo, const std::string& who) {
    if (!photos_.insert(photo.sha256).second) return;
    const fs::path path = record_->photo_path(photo);
    std::error_code ignored;
    if (!fs::exists(path, ignored)) {
      fault(who + ": its photo " + path.string() + " is missing.");
    } else if (!holds(path, photo.sha256)) {
      fault(who + ": its photo " + path.string() + " is damaged.");
    }
  }

  static std::optional<WholeEntry> sound_copy(const fs::path& copy) {
    std::error_code ignored;
    if (!fs::exists(copy, ignored)) return std::nullopt;
    try {
      return read_entry_copy(read_whole(copy));
    } catch (const Error&) {
      return std::nullopt;
    }
  }

  void left_over() {
    std::error_code ignored;
    for (const fs::directory_entry& file :
         fs::directory_iterator(record_photos(file_) / "entries", ignored)) {
      const std::string name = file.path().filename().string();
      if (name.starts_with('.') || reports_.contains(file.path().stem().string())) continue;
      result_.remarks.push_back("A copy of an entry that is not in the record, " + name +
                                ": an add was ended before its time; add that report again.");
    }
  }

  fs::path file_;
  std::unique_ptr<Record> record_;
  std::set<std::string> photos_, reports_;
  RecordCheck result_;
};

}  // namespace

RecordCheck check_record(const fs::path& file) {
  if (!fs::exists(file)) {
    throw Error("there is no record at " + file.string(), "give its file with --record");
  }
  return Check(file).run();
}

}  // namespace evenbevel
