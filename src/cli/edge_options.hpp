#pragma once

#include <string>

#include "evenbevel/edge_view.hpp"
#include "evenbevel/report.hpp"
#include "options.hpp"
#include "record_entry.hpp"

namespace evenbevel::cli {

/// What says how the edge view is measured, as typed.
struct EdgeViewOptions : CommonOptions {
  std::string thickness, edge_height, land, step = "1mm";
  std::string stage, tip;
  double facet_angle_deg = 45.0;
  bool no_card = false;
};

/// The common options and those of the edge view.
void add_edge_view_options(CLI::App& command, EdgeViewOptions& options);

/// Of --stage and --record without --at-stage: --stage is the knife's stage, and what the photo
/// shows as well where it is one of those words.
/// @throws CLI::ValidationError  A stage that no photo shows, and no record to put it into.
void share_stage(EdgeViewOptions& options, RecordChoice& record);

/// As --stage and --tip say; empty: to be found.
void set_stage_and_tip(EdgeSettings& settings, const std::string& stage, const std::string& tip);

/// @throws CLI::ValidationError  A length that is none.
EdgeSettings edge_view_settings(const EdgeViewOptions& options);
ReportSettings edge_view_report_settings(const EdgeViewOptions& options);

}  // namespace evenbevel::cli
