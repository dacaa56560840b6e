#include <algorithm>
#include <charconv>
#include <cmath>

#include "csv_table.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/study_input.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {
namespace {

using studies::CsvLine;
using studies::CsvTable;

std::string place(const CsvTable& table, const CsvLine& line) {
  return "line " + std::to_string(line.number) + " of " + table.name;
}

std::optional<double> plain_number(std::string text, ReadingUnit unit) {
  if (unit == ReadingUnit::degree && text.ends_with("deg")) text.resize(text.size() - 3);
  while (text.ends_with(' ')) text.pop_back();
  if (text.starts_with('+')) text.erase(0, 1);
  double value = 0.0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (fault != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return std::isfinite(value) ? std::optional(value) : std::nullopt;
}

std::optional<double> number(const std::string& text, ReadingUnit unit) {
  switch (unit) {
    case ReadingUnit::mm:
      return parse_length_mm(text, LengthUnit::mm);
    case ReadingUnit::inch:
      return parse_length_mm(text, LengthUnit::inch);
    case ReadingUnit::thou:
      return parse_length_mm(text, LengthUnit::thou);
    case ReadingUnit::degree:
    case ReadingUnit::none:
      break;
  }
  return plain_number(text, unit);
}

double value_of(const CsvTable& table, const CsvLine& line, ReadingUnit unit) {
  const std::string as_written = table.field(line, "value");
  std::string text = as_written;
  if (table.separator != ',') std::replace(text.begin(), text.end(), ',', '.');
  const std::optional<double> value = number(text, unit);
  constexpr double kMost = 1e9;  // Sums of squares of a hundred thousand of them are still exact.
  if (value && std::abs(*value) > kMost) {
    throw Error(place(table, line) + ": '" + as_written + "' is too large for a reading",
                "give readings up to 1000000000 either way");
  }
  if (value) return *value;
  const bool length = unit != ReadingUnit::degree && unit != ReadingUnit::none;
  throw Error(
      place(table, line) + ": '" + as_written + "' is not a " + (length ? "length" : "number"),
      length ? "write for example 0.012, 0.012mm or 0.5thou; bare numbers are in --units"
             : "write for example 0.012; leave the value empty when there is none");
}

std::string needed_part(const CsvTable& table, const CsvLine& line) {
  std::string part = table.field(line, "part");
  if (part.empty()) {
    throw Error(place(table, line) + " names no part", "say in the column part which one was read");
  }
  return part;
}

/// Text between the hyphens.
std::vector<std::string> pieces_of(const std::string& name) {
  std::vector<std::string> pieces(1);
  for (const char c : name) {
    if (c == '-') {
      pieces.emplace_back();
    } else {
      pieces.back() += c;
    }
  }
  return pieces;
}

}  // namespace

std::vector<StudyReading> readings_from_csv(std::string_view text, const std::string& name,
                                            ReadingUnit bare) {
  const CsvTable table =
      studies::csv_table(text, name, {"part", "person", "trial", "value"}, {"part", "value"});
  std::vector<StudyReading> readings;
  for (const CsvLine& line : table.lines) {
    if (table.field(line, "value").empty()) continue;
    readings.push_back({needed_part(table, line), table.field(line, "person"),
                        table.field(line, "trial"), value_of(table, line, bare)});
  }
  if (readings.empty()) {
    throw Error(name + " has no reading: no line has a value",
                "write what was read into the column value");
  }
  return readings;
}

bool lists_files(std::string_view csv) {
  const std::vector<std::string> columns = studies::csv_columns(csv);
  return std::find(columns.begin(), columns.end(), "file") != columns.end();
}

std::vector<StudyFile> files_from_csv(std::string_view text, const std::filesystem::path& list) {
  const CsvTable table = studies::csv_table(
      text, list.string(), {"file", "part", "person", "trial", "thickness"}, {"file", "part"});
  std::vector<StudyFile> files;
  for (const CsvLine& line : table.lines) {
    const std::string file = table.field(line, "file");
    if (file.empty()) {
      throw Error(place(table, line) + " names no file",
                  "say in the column file which photo it is");
    }
    files.push_back({list.parent_path() / file, needed_part(table, line),
                     table.field(line, "person"), table.field(line, "trial"),
                     table.field(line, "thickness")});
  }
  return files;
}

StudyFile file_by_its_name(const std::filesystem::path& file) {
  const bool is_report = file.filename() == "report.json";
  const std::string name = is_report
                               ? std::filesystem::absolute(file).parent_path().filename().string()
                               : file.stem().string();
  const std::vector<std::string> pieces = pieces_of(name);
  if (pieces.size() < 2 || pieces.front().empty() || pieces.back().empty()) {
    throw Error("the name of " + file.string() + " does not say which part and trial it is",
                "name it PART-TRIAL or PART-PERSON-TRIAL, such as knife1-2.jpg or "
                "knife1-ann-2.jpg, or write a list: a CSV with the columns file,part,person,trial");
  }
  StudyFile out{file, pieces.front(), {}, pieces.back(), {}};
  if (pieces.size() == 2) return out;
  out.person = pieces[pieces.size() - 2];
  for (std::size_t i = 1; i + 2 < pieces.size(); ++i) out.part += '-' + pieces[i];
  return out;
}

}  // namespace evenbevel
