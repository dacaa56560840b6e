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
/// To 5 decimals, as report.json has them: who reads it back says the same.
Stated stated_length(const Measured& mm);
Stated stated_angle(const Measured& rad);

/// How a number is shown: a signed length says its plus too. Areas are square centimetres, whatever
/// the unit of lengths; a length over an area is in mm.
enum class QuantityKind { length, signed_length, angle, per_area, length_per_area };

/// What a quantity is called wherever it is shown.
struct DeclaredQuantity {
  std::string id = {};
  InUnits label = {};
  QuantityKind kind = QuantityKind::length;
};

struct StatedQuantity {
  std::string id = {};  ///< "centreline_offset", everywhere.
  Stated value = {};
  InUnits note = {};                    ///< Said beside it: "toward the left face".
  std::optional<double> depth_mm = {};  ///< Where one is stated at several depths behind the edge.
  Facts more = {};                      ///< Where it was read, or over what: "x", "x_from".
  std::vector<BudgetLine> budget = {};  ///< What value.u is made of, to 5 decimals.
  std::vector<StatedQuantity> beside = {};  ///< Read at the same depth.
};

/// A line of a whole statement's budget.
struct QuantityBudgetLine {
  std::string quantity;
  BudgetLine line;
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
  double at_mm = 0.0;  ///< To 5 decimals.
  std::vector<PhotoPlace> places = {};
  std::vector<StatedQuantity> quantities = {};
  std::optional<double> residual_px = {};  ///< RMS of the profile fit.

  /// Empty: not seen.
  std::optional<Eigen::Vector2d> px(std::string_view face, std::string_view what) const;
};

/// A column that every station has in a table, seen there or not.
struct StationColumn {
  enum class Kind { place, quantity, residual };
  Kind kind = Kind::quantity;
  std::string what = {};   ///< A quantity's id; of a place as PhotoPlace has it.
  std::string face = {};   ///< Of a place.
  std::string label = {};  ///< Of a quantity: above its column.
  QuantityKind number = QuantityKind::length;
};

/// Quantities of the stations, to be drawn over them with their 95 % bands.
struct StatedChart {
  struct Curve {
    std::string quantity = {}, label = {};
  };
  std::string title = {};          ///< Above it.
  std::string name = {};           ///< For those who hear it.
  std::string y_name = {};         ///< Which way is which.
  std::vector<Curve> curves = {};  ///< One or two, of the same kind.
  std::string zero = {};           ///< What zero is, which is then in the middle; may be empty.
  bool plus_down = false;          ///< Of sides: the left one is drawn below.
  bool judged = false;             ///< The tolerance is drawn.
  std::optional<double> worst_at_mm = {};  ///< Of the first curve.
};

/// Quantities at places of one kind: plunge lines at a height, zones along the blade.
struct StatedPlace {
  Facts at = {};
  std::vector<StatedQuantity> quantities = {};
};
struct StatedTable {
  struct Column {
    std::string what = {};  ///< A quantity's id, or the name of one of the place's facts.
    std::string label = {};
    QuantityKind number = QuantityKind::length;
  };
  std::string name = {};
  std::vector<StatedPlace> places = {};
  std::string title = {};  ///< Empty: only for the files.
  std::vector<Column> columns = {};
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

/// What a person is told first, in both units.
struct Glance {
  struct Row {
    InUnits label, value, U95, note = {};
  };
  InUnits headline = {};       ///< The finding, in capitals: "0.084 mm TOO FAR LEFT, limit 0.050".
  InUnits title = {};          ///< "edge view, edge ground".
  std::vector<Row> rows = {};  ///< The quantities that matter most; report.json does without.
  InUnits check = {};          ///< Empty: no intervals were checked.
  InUnits verdict = {};
  InUnits origin = {};  ///< Where x = 0 lies and which way x runs; empty: the view has no x.
  std::vector<std::string> how_to_read = {};
};

struct Statement {
  std::string view = {};                            ///< "edge", "side", "choil", "finish".
  std::string stage = {}, tip = {}, x_origin = {};  ///< Empty: the view has none.
  std::string verdict = {};
  std::vector<StatedQuantity> quantities = {};  ///< Of the whole blade, in the reports' order.
  std::string along = "x";  ///< What a station's at_mm is: "x" to the tip, "depth" to the spine.
  std::vector<StatedStation> stations = {};
  std::vector<StationColumn> columns = {};  ///< Of `stations`.
  std::vector<StatedChart> charts = {};
  std::vector<DeclaredQuantity> declared = {};  ///< All that this view has, and the budget's.
  Glance glance = {};
  std::vector<StatedTable> tables = {};
  Facts more = {};                              ///< Found by this view alone: a section's axis.
  std::vector<QuantityBudgetLine> budget = {};  ///< At places of `tables`.
  std::vector<Remark> advice = {}, warnings = {};
  Provenance provenance = {};
};

/// What the budget calls a quantity: "land_width"; at a depth "thickness_at_0.25".
std::string budget_name(const StatedQuantity& quantity);
/// "half_left_at_0.25", of what was read beside it.
std::string budget_name(const StatedQuantity& quantity, const StatedQuantity& beside);

/// Of all numbers of the whole blade: of `quantities`, what was read beside them, and of `budget`.
std::vector<QuantityBudgetLine> whole_budget(const Statement& statement);

/// Whether a piece of advice is on the blade; else it is on the photo.
bool on_the_blade(const Remark& advice);

/// Null when it was not declared.
const DeclaredQuantity* find(std::span<const DeclaredQuantity> declared, std::string_view id);

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
