#include <algorithm>
#include <functional>
#include <set>
#include <system_error>

#include "evenbevel/error.hpp"
#include "record/files.hpp"
#include "record/inside.hpp"
#include "record/schema.hpp"
#include "report/sha256.hpp"

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
    const fs::path copy = entry_copy_path(file_, entry.report);
    if (!copy_is_sound(copy)) {
      WholeEntry whole{.entry = entry, .report_json = json};
      if (sha256(json) != entry.report) return;
      make_folder(copy.parent_path());
      write_durably(copy, entry_copy_text(whole));
      result_.remarks.push_back(who + ": its copy was missing or damaged and is written again.");
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

  bool copy_is_sound(const fs::path& copy) const {
    std::error_code ignored;
    if (!fs::exists(copy, ignored)) return false;
    try {
      read_entry_copy(read_whole(copy));
      return true;
    } catch (const Error&) {
      return false;
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
