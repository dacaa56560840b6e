#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "edge_options.hpp"
#include "evenbevel/measure.hpp"
#include "settle.hpp"

namespace evenbevel::cli {

/// Measures photos of any view; the card in a photo tells which one it is.
class WatchedViews {
 public:
  /// @param finish  On the side card scratches are counted, not bevels measured.
  /// @throws Error, CLI::ValidationError  A setting or a camera file that will not do.
  WatchedViews(const EdgeViewOptions& options, const KnifeFacts& knife, const Shop& shop,
               bool finish);

  /// Measures and writes the report into the folder.
  /// @throws Error  As the view does; also a photo that does not tell which face it shows.
  Written measure(Photo& photo, const std::filesystem::path& folder) const;

  LengthUnit unit() const { return edge_report_.unit; }

 private:
  Written edge(Photo& photo, const std::filesystem::path& folder) const;
  Written face(Photo& photo, const std::filesystem::path& folder) const;
  Written heel(Photo& photo, const std::filesystem::path& folder) const;

  CommonOptions common_;
  std::string camera_file_;
  bool card_ = true, finish_ = false;
  EdgeSettings edge_;
  SideSettings side_;
  ChoilSettings choil_;
  ReportSettings edge_report_, side_report_, choil_report_;
};

}  // namespace evenbevel::cli
