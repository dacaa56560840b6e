#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/facts.hpp"
#include "evenbevel/uncertainty.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

// What a view says, once, for all who come after it. Each view's report makes a Statement of its
// result; report.json is its written form. Lengths mm, angles degrees, px of the stored grid. What
// was not measured is not there, rather than null or zero.

/// A value with its standard uncertainty and the one for 95 % coverage.
struct Stated {
  double value = 0.0, u = 0.0, U95 = 0.0;
};
Stated stated_length(const Measured& mm);
Stated stated_angle(const Measured& rad);

struct StatedQuantity {
  std::string id = {};  ///< "centreline_offset", everywhere.
  Stated value = {};
  std::optional<double> depth_mm = {};  ///< Where one is stated at several depths behind the edge.
  Facts more = {};                      ///< Where it was read, or over what: "x", "x_from".
  std::vector<StatedQuantity> beside = {};  ///< Read at the same depth.
};

/// Null when none of them has that id.
const StatedQuantity* find(std::span<const StatedQuantity> quantities, std::string_view id);

/// A place in a photo that a station was read at.
struct PhotoPlace {
  std::string face = {};  ///< Whose photo, where there is one a face; else empty.
  std::string what = {};  ///< "edge", "spine"; empty: the station itself.
  Eigen::Vector2d px = Eigen::Vector2d::Zero();
};

/// What was read at one place along the blade, or at one depth behind the edge.
struct StatedStation {
  double at_mm = 0.0;
  std::vector<PhotoPlace> places = {};
  std::vector<StatedQuantity> quantities = {};
  std::optional<double> residual_px = {};  ///< RMS of the profile fit.
  std::vector<BudgetLine> budget = {};     ///< Of the first quantity.

  /// Empty: not seen.
  std::optional<Eigen::Vector2d> px(std::string_view face, std::string_view what) const;
};

/// A column that every station has in a table, seen there or not.
struct StationColumn {
  enum class Kind { place, length, angle, residual };
  Kind kind = Kind::length;
  std::string what = {};  ///< A quantity's id; of a place as PhotoPlace has it.
  std::string face = {};  ///< Of a place.
};

/// Quantities at places of one kind: plunge lines at a height, zones along the blade.
struct StatedPlace {
  Facts at = {};
  std::vector<StatedQuantity> quantities = {};
};
struct StatedTable {
  std::string name = {};
  std::vector<StatedPlace> places = {};
};

struct StatedPhoto {
  std::string face = {};  ///< Where there is one a face.
  std::string name = {};
  std::string sha256 = {};  ///< Empty: not stated.
  int width_px = 0, height_px = 0;
  int exif_orientation = 1;
  Facts exif_camera = {};
};

/// Where a statement's numbers come from. Of two faces, one part a face.
struct Provenance {
  std::string version = {}, command_line = {};
  std::vector<StatedPhoto> photos = {};
  Facts photo_quality = {}, camera = {}, card = {}, settings = {};
};

/// What a person is told first, in both units; report.json does without.
struct Glance {
  struct Row {
    InUnits label, value, U95, note = {};
  };
  InUnits title = {};          ///< "edge view, edge ground".
  InUnits headline = {};       ///< The finding, in capitals: "0.084 mm TOO FAR LEFT, limit 0.050".
  InUnits origin = {};         ///< Where x = 0 lies and which way x runs; empty: the view has no x.
  std::vector<Row> rows = {};  ///< The quantities that matter most.
  InUnits check = {};          ///< Empty: no intervals were checked.
  InUnits verdict = {};
};

struct Statement {
  std::string view = {};                            ///< "edge", "side", "choil".
  std::string stage = {}, tip = {}, x_origin = {};  ///< Empty: the view has none.
  std::string verdict = {};
  std::vector<StatedQuantity> quantities = {};  ///< Of the whole blade, in the reports' order.
  std::string along = "x";  ///< What a station's at_mm is: "x" to the tip, "depth" to the spine.
  std::vector<StatedStation> stations = {};
  std::vector<StationColumn> columns = {};  ///< Of `stations`; report.json does without.
  Glance glance = {};
  std::vector<StatedTable> tables = {};
  Facts more = {};                              ///< Found by this view alone: a section's axis.
  std::vector<QuantityBudgetLine> budget = {};  ///< Of `quantities`, and at places of `tables`.
  std::vector<Remark> advice = {}, warnings = {};
  Provenance provenance = {};
};

/// "left and right are the knife's": every report carries it.
const char* left_and_right();

/// Schema evenbevel.report/2. Lengths and angles to 5 decimals; remarks with their sentence in mm.
std::string statement_json(const Statement& statement);

/// Schemas 1 and 2. What is damaged or not known is left out. @throws Error  No report, or a newer
/// evenbevel's.
Statement read_statement(std::string_view json);

/// @throws Error  As read_statement; or the file cannot be read.
Statement read_statement_file(const std::filesystem::path& path);

}  // namespace evenbevel
