#pragma once

#include <string>
#include <vector>

#include "evenbevel/edge_view.hpp"
#include "evenbevel/study_report.hpp"
#include "options.hpp"

namespace evenbevel::cli {

/// As typed; lengths wait for --units.
struct StudyOptions : CommonOptions {
  std::vector<std::string> inputs;
  std::string shops_tolerance;
  std::string csv_units;  ///< Of bare numbers in a CSV of readings.
  std::string quantity;
  std::string known, known_u = "0.002mm";
  std::string thickness, edge_height, stage, tip;

  ReadingKind csv_kind() const;
};

/// What the inputs gave.
struct StudyReadings {
  std::string quantity;
  ReadingKind kind = ReadingKind::length;
  std::vector<StudyReading> readings;
  std::vector<Measured> with_u;  ///< The same, each with the u that its own report states.
  std::vector<StudyLeftOut> left_out;
};

/// From one CSV of readings, or from photos and reports named one by one or listed in a CSV.
/// @throws Error  A file that is none of these; no reading; reports of different views.
/// @throws CLI::ValidationError  Options that do not go together.
StudyReadings gather_study(const StudyOptions& options);

}  // namespace evenbevel::cli
