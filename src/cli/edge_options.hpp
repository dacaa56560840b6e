#pragma once

#include <optional>
#include <string>

#include "evenbevel/edge_view.hpp"
#include "evenbevel/report.hpp"
#include "options.hpp"
#include "record_entry.hpp"

namespace evenbevel::cli {

/// What says how the edge view is measured, as typed.
struct EdgeViewOptions : CommonOptions {
  std::string thickness, edge_height, land, step = "1mm";
  std::string shows, stage, tip;
  double facet_angle_deg = 45.0;
  std::optional<double> jaw_lean_deg{};
  bool no_card = false;
};

/// The common options and those of the edge view.
void add_edge_view_options(CLI::App& command, EdgeViewOptions& options);

/// --stage, as it was called before --shows and --at-stage: with a knife its stage, else what the
/// photo shows.
/// @throws CLI::ValidationError  It may be either; or a stage that no photo shows, and no knife.
void share_stage(EdgeViewOptions& options, RecordChoice& record);

/// As --shows and --tip say; empty: to be found.
void set_stage_and_tip(EdgeSettings& settings, const std::string& shows, const std::string& tip);

/// @throws CLI::ValidationError  A length that is none.
EdgeSettings edge_view_settings(const EdgeViewOptions& options);
ReportSettings edge_view_report_settings(const EdgeViewOptions& options);

}  // namespace evenbevel::cli
