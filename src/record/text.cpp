#include <algorithm>
#include <sstream>

#include "advice/numbers.hpp"
#include "evenbevel/record.hpp"
#include "record/numbers.hpp"
#include "record/report_facts.hpp"
#include "record/table.hpp"

namespace evenbevel {
namespace {

using Row = std::vector<std::string>;

std::string with_U95(const RecordedValue& value, LengthUnit unit) {
  const Printed number = printed_value(value, unit);
  return number.value + "  U95 " + number.U95;
}

std::string minute(std::string time) {
  if (time.size() < 16) return time;
  time[10] = ' ';
  return time.substr(0, 16);
}

std::string counted(std::size_t n, const char* one, const char* many) {
  return std::to_string(n) + " " + (n == 1 ? one : many);
}

const char* fact_label(KnifeFact fact) {
  switch (fact) {
    case KnifeFact::thickness:
      return "stock thickness";
    case KnifeFact::land:
      return "wanted land";
    case KnifeFact::tolerance:
      return "tolerance of the centreline offset";
    case KnifeFact::side_tolerance:
      return "tolerance of bevel heights and plunge lines";
    case KnifeFact::choil_tolerance:
      return "tolerance of the asymmetry";
  }
  return "";
}

void add_entry_text(std::ostringstream& out, const Knife& knife, const RecordEntry& entry,
                    LengthUnit unit) {
  out << "\nentry " << entry.id << "   " << entry.stage << "   " << entry.view << " view   "
      << minute(entry.added);
  if (entry.verdict != "none" && !entry.verdict.empty()) out << "   " << entry.verdict;
  out << '\n';
  std::vector<Row> rows;
  bool places = false;
  for (const RecordedValue& value : in_report_order(entry.values)) {
    rows.push_back({"  " + label_of(value, unit), with_U95(value, unit)});
    if (!is_place_name(value.name)) continue;
    places = true;
    if (entry.tip_x_mm) {
      rows.back().push_back(printed_position(*entry.tip_x_mm - value.value, unit) +
                            " from the tip");
    }
  }
  out << table_text(rows);
  if (places) out << "  " << origin_words(entry) << ", plus to the tip\n";
  for (const RecordedPhoto& photo : entry.photos) out << "  photo  " << photo.name << '\n';
  for (const RecordNote& note : knife.notes) {
    if (note.entry == entry.id) out << "  note   " << note.text << '\n';
  }
}

}  // namespace

std::string list_text(const std::vector<KnifeLine>& knives, LengthUnit unit) {
  std::vector<Row> rows = {{"knife", "entries", "last stage", "last entry", "view", "verdict",
                            "centreline offset (newest, mean)"}};
  for (const KnifeLine& knife : knives) {
    const bool verdict = !knife.last_verdict.empty() && knife.last_verdict != "none";
    rows.push_back({knife.name, std::to_string(knife.entries), knife.last_stage,
                    day(knife.last_added), knife.last_view, verdict ? knife.last_verdict : "-",
                    knife.offset ? with_U95(*knife.offset, unit) : "-"});
  }
  return table_text(rows);
}

std::string facts_text(const KnifeFacts& facts, LengthUnit unit) {
  std::string text;
  for (const auto& [fact, mm] : facts) {
    text += std::string(fact_label(fact)) + ": " + trimmed_length(mm, unit) + '\n';
  }
  return text;
}

std::string knife_text(const Knife& knife, LengthUnit unit) {
  std::ostringstream out;
  out << knife.name << "   " << counted(knife.entries.size(), "entry", "entries") << " at "
      << counted(knife.stages().size(), "stage", "stages") << ", since " << day(knife.created)
      << " (times are UTC)\n";
  out << facts_text(knife.facts, unit);
  for (const RecordNote& note : knife.notes) {
    if (note.entry == 0) out << "note of " << day(note.written) << ": " << note.text << '\n';
  }
  for (const RecordEntry& entry : knife.entries) add_entry_text(out, knife, entry, unit);
  return out.str();
}

}  // namespace evenbevel
