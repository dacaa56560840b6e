#pragma once

#include <array>
#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "evenbevel/statement.hpp"
#include "evenbevel/units.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

// The shop's log: every knife through its stages. One SQLite file, and beside it a folder
// (FILE.photos) of the original photos and of a copy of each entry, named by their SHA-256.
// A kill or a power cut at any instant leaves the last complete state; two processes may write at
// once. Nothing is ever deleted: what is removed goes to a bin.

/// record.sqlite in the data folder (folders.hpp). @throws Error  There is no home folder.
std::filesystem::path default_record_file();

/// The folder that belongs to a record.
std::filesystem::path record_photos(const std::filesystem::path& record_file);

/// Knives and stages are called alike whatever the case of their ASCII letters.
bool same_name(const std::string& a, const std::string& b);

/// The time for a record's rows, UTC: "2026-03-14T09:26:53Z".
std::string utc_now();

/// A quantity as a report states it: mm or degrees.
struct RecordedValue {
  std::string name = {};  ///< As in report.json: "centreline_offset".
  double at = 0.0;        ///< Depth in mm, for "thickness_at"; else 0.
  double value = 0.0, u = 0.0, U95 = 0.0;
};

struct RecordedPhoto {
  std::string sha256 = {};
  std::string file = {};  ///< In the record's folder of photos.
  std::string name = {};  ///< As the report names it.
  std::string face = {};  ///< "left", "right", or empty.
};

struct RecordNote {
  std::int64_t entry = 0;  ///< 0: of the knife.
  std::string text = {}, written = {};
};

/// One report on one knife at one stage.
struct RecordEntry {
  std::int64_t id = 0;
  std::string knife = {};
  std::string stage = {};    ///< In the maker's words: "120 grit".
  std::string view = {};     ///< "edge", "side", "choil".
  std::string verdict = {};  ///< As in the report.
  std::string added = {};    ///< UTC.
  std::string removed = {};  ///< UTC; empty: not in the bin.
  std::string report = {};   ///< SHA-256 of report.json.
  /// Where its report counts x from, as there: "plunge_lines", "first_station", "handle_end".
  std::string x_origin = {};
  std::optional<double> tip_x_mm = {};  ///< Where its photos showed the tip.
  std::vector<RecordedValue> values = {};
  std::vector<RecordedPhoto> photos = {};
};

const RecordedValue* find_value(const RecordEntry& entry, const std::string& name, double at = 0.0);

/// One line of the list.
struct KnifeLine {
  std::string name = {};
  std::int64_t entries = 0;
  std::string removed = {};                      ///< UTC; empty: not in the bin.
  std::string last_stage = {}, last_added = {};  ///< Of the newest entry.
  std::string last_view = {}, last_verdict = {};
  std::optional<RecordedValue> offset = {};  ///< Newest centreline offset.
};

/// What is a knife's own, whatever a photo shows of it.
enum class KnifeFact {
  thickness,       ///< Of the stock between the flats.
  land,            ///< The width that is ground toward.
  tolerance,       ///< The largest centreline offset allowed.
  side_tolerance,  ///< The largest bevel height difference and plunge mismatch allowed.
  choil_tolerance  ///< The largest asymmetry at the heel allowed.
};
inline constexpr std::array kKnifeFacts = {KnifeFact::thickness, KnifeFact::land,
                                           KnifeFact::tolerance, KnifeFact::side_tolerance,
                                           KnifeFact::choil_tolerance};
/// As options and shop.toml call it: "side-tolerance".
std::string_view name(KnifeFact fact);

/// In mm, above zero; those that nobody said are not there.
using KnifeFacts = std::map<KnifeFact, double>;

struct SaidFact {
  KnifeFact fact = KnifeFact::thickness;
  std::optional<double> mm = {};  ///< Empty: it is taken back.
};

struct Knife {
  std::string name = {}, created = {}, removed = {};
  KnifeFacts facts = {};
  std::vector<RecordEntry> entries = {};    ///< Oldest first; those in the bin left out.
  std::vector<RecordNote> notes = {};       ///< Oldest first.
  std::vector<std::string> stages() const;  ///< In the order they were first reached.
};

struct NewEntry {
  std::string knife = {}, stage = {};
  std::string note = {};                           ///< May be empty.
  std::string report_json = {};                    ///< As it was written, byte for byte.
  std::vector<std::filesystem::path> photos = {};  ///< Where the report's photos may be.
  std::filesystem::path report_folder = {};        ///< The same; may be empty.
  std::string added = {};                          ///< UTC.
};

struct Added {
  std::int64_t id = 0;
  std::string knife = {}, stage = {};  ///< As the record spells them.
  bool new_knife = false;
  bool was_there = false;  ///< The same report is in the record already; nothing done.
  std::vector<Remark> warnings = {};
};

struct RecordCheck {
  std::int64_t entries = 0, photos = 0;
  std::vector<std::string> faults = {};   ///< Full sentences; empty: sound.
  std::vector<std::string> remarks = {};  ///< What is left of an add that was killed, and so on.
};

struct Rescued {
  std::int64_t entries = 0;
  std::vector<std::string> lost = {};  ///< Full sentences.
};

/// An open record. Not shared between threads; several processes may have the same one open.
class Record {
 public:
  /// @throws Error  Not there, damaged, another program's, a newer evenbevel's, locked for 20 s.
  static Record open(const std::filesystem::path& file);
  /// Made with its folder when it is not there.
  static Record open_or_make(const std::filesystem::path& file);
  Record(Record&&) noexcept;
  Record& operator=(Record&&) noexcept;
  ~Record();

  /// Stores the photos, then the entry with all its quantities in one transaction.
  /// @throws Error  No report, a photo missing or not the one that was measured, a bad name.
  Added add(const NewEntry& entry);
  /// @param entry  0: for the knife. @throws Error  No such knife or entry.
  void add_note(const std::string& knife, std::int64_t entry, const std::string& text,
                const std::string& written);

  /// Makes the knife when it is new. @throws Error  A bad name.
  void say_facts(const std::string& knife, std::span<const SaidFact> said, const std::string& when);
  KnifeFacts facts(const std::string& knife);  ///< None of a knife that is not there.

  std::vector<KnifeLine> list(bool bin = false);
  Knife knife(const std::string& name);  ///< @throws Error  No such knife.
  std::vector<RecordEntry> binned_entries();
  std::string report_json(const RecordEntry& entry);
  Statement statement(const RecordEntry& entry);  ///< @throws Error  As read_statement.

  /// To the bin, with all its entries, or one entry alone. @throws Error  No such knife or entry.
  void remove_knife(const std::string& name, const std::string& when);
  void remove_entry(const std::string& knife, std::int64_t id, const std::string& when);
  /// Back from the bin: the knife of that name removed last; or one entry.
  /// @throws Error  None there, or the name or the report is in use again.
  void restore_knife(const std::string& name);
  void restore_entry(std::int64_t id);

  const std::filesystem::path& file() const;
  std::filesystem::path photo_path(const RecordedPhoto& photo) const;

  struct Inside;
  Inside& inside() { return *inside_; }

 private:
  explicit Record(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

/// Reads everything: the database's structure, every report and photo against its hash, every
/// quantity against its report. @throws Error  Not there, or another program's.
RecordCheck check_record(const std::filesystem::path& file);

/// A new record from whatever can be read of a damaged one and from the copies of its entries in
/// its folder. The damaged one is left as it is. @throws Error  `target` is there already.
Rescued rescue_record(const std::filesystem::path& damaged, const std::filesystem::path& target);

std::string list_text(const std::vector<KnifeLine>& knives, LengthUnit unit);
std::string knife_text(const Knife& knife, LengthUnit unit);
/// One line a fact; empty without any.
std::string facts_text(const KnifeFacts& facts, LengthUnit unit);

}  // namespace evenbevel
