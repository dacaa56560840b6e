#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "evenbevel/report.hpp"
#include "evenbevel/study.hpp"

namespace evenbevel {

/// What kind of number was read: lengths in mm, angles in degrees, or a number without a unit.
enum class ReadingKind { length, angle, number };

/// A photo or report of a study that gave no reading.
struct StudyLeftOut {
  std::string file;
  InUnits reason;
};

/// All that a study's report tells.
struct StudyReport {
  std::string quantity = "reading";  ///< As in report.json.
  ReadingKind kind = ReadingKind::length;
  std::vector<StudyReading> readings;
  std::optional<StudyResult> result;  ///< Empty: one reading of a gauge.
  std::optional<BiasResult> bias;     ///< When a gauge of known width was read.
  std::optional<double> tolerance;    ///< Either way; its band is twice as wide.
  std::vector<StudyLeftOut> left_out;
};

/// Whether the set-up is good enough, by its share of the tolerance's band or else of the total
/// spread: below 10 %, 10 to 30 %, above (common practice; AIAG, Measurement Systems Analysis,
/// 4th ed. 2010, chapter II-D).
enum class StudyGrade {
  none,  ///< Nothing to hold it against: one part and no tolerance.
  good,
  with_care,
  not_good_enough,
};
std::string_view name(StudyGrade grade);
StudyGrade study_grade(const StudyReport& report);

/// A quantity by its name in report.json; mm or degrees. Empty: not seen.
struct NamedValue {
  std::string name;
  std::optional<Measured> value;
};
std::vector<NamedValue> edge_values(const EdgeResult& result);

/// For the terminal; at most 100 columns. Of `settings` the unit counts.
std::string study_text(const StudyReport& report, const ReportSettings& settings);

/// Schema evenbevel.study/1: mm, degrees, or plain numbers, whatever the display unit.
std::string study_json(const StudyReport& report, const ReportSettings& settings);

/// The readings, as `evenbevel study` reads them: part,person,trial,value in mm, degrees or plain.
std::string study_csv(const StudyReport& report);

/// One self-contained page, with readings and spreads as drawings.
std::string study_html(const StudyReport& report, const ReportSettings& settings);

/// Writes study.json, study.csv and study.html into the folder (made when missing), all or none.
/// @throws Error  Not writable.
void write_study_report(const StudyReport& report, const ReportSettings& settings,
                        const std::filesystem::path& folder);

}  // namespace evenbevel
