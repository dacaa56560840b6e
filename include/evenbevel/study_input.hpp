#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "evenbevel/statement.hpp"
#include "evenbevel/study.hpp"
#include "evenbevel/uncertainty.hpp"

namespace evenbevel {

// Where a study's readings come from: a CSV of readings, a CSV that lists files, names of files,
// reports already made.

/// What bare numbers of a CSV are. Lengths become mm.
enum class ReadingUnit { mm, inch, thou, degree, none };

/// Columns part and value, and person and trial where there are any, in any order; separated by
/// commas, semicolons or tabs (the latter two allow a decimal comma). A row without a value is a
/// missing reading and left out.
/// @param name  Of the file, for errors.
/// @throws Error  A column missing or not known, a value that is not a number, no reading.
std::vector<StudyReading> readings_from_csv(std::string_view text, const std::string& name,
                                            ReadingUnit bare);

/// One photo or report of a study.
struct StudyFile {
  std::filesystem::path file;
  std::string part, person, trial;
  std::string thickness;  ///< As written; empty where the list says none.
};

/// Whether a CSV lists files rather than readings: it has a column `file`.
bool lists_files(std::string_view csv);

/// Columns file and part, and person, trial and thickness where there are any.
/// @param list  Files are relative to its folder.
/// @throws Error  As readings_from_csv.
std::vector<StudyFile> files_from_csv(std::string_view text, const std::filesystem::path& list);

/// PART-TRIAL or PART-PERSON-TRIAL from a file's name without its ending; of a file that is called
/// report.json, from its folder's name. A part's name may hold hyphens when there is a person.
/// @throws Error  No hyphen in it.
StudyFile file_by_its_name(const std::filesystem::path& file);

/// A report.json, as far as a study wants it.
struct StudyReportFile {
  std::string view;
  std::vector<std::string> quantities;  ///< Names of those with a value.
  std::optional<Measured> reading;      ///< Of the quantity asked for, as the report states it.
  QuantityKind kind = QuantityKind::length;  ///< Of that quantity.
  bool height_given = false;                 ///< By --edge-height, not from the thickness.
};

/// @param quantity  For `thickness`, the mean over the stations where the summary has none.
/// @throws Error  Not readable, or not a report of this program.
StudyReportFile read_study_report(const std::filesystem::path& report_json,
                                  const std::string& quantity);

}  // namespace evenbevel
