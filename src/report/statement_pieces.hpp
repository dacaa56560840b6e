#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/report.hpp"
#include "evenbevel/statement.hpp"
#include "report/quantities.hpp"

namespace evenbevel {

// The parts of a statement that the views share.

/// With the program's version and the command line.
Statement new_statement(const char* view, const ReportSettings& settings);

/// In mm or degrees.
StatedQuantity stated(const Quantity& quantity);
std::vector<StatedQuantity> stated(std::span<const Quantity> quantities);
/// With what is said beside each.
std::vector<StatedQuantity> stated(std::span<const Quantity> quantities, const NoteOf& note);

std::vector<DeclaredQuantity> declared(std::span<const QuantityName> names);

/// Those of the quantities that matter most. @param note  Beside the number; may be empty.
std::vector<Glance::Row> glance_rows(std::span<const Quantity> quantities, const NoteOf& note);
Glance::Row glance_row(const InUnits& label, QuantityKind kind, const Measured& value,
                       const InUnits& note);

/// Adds the column of a station's quantity.
/// @param face  Whose it is, where there is one a face.
void add_column(std::vector<StationColumn>& columns, const QuantityName& quantity,
                std::string_view face = {});
/// Adds the column of a place in a photo.
void add_place_column(std::vector<StationColumn>& columns, std::string_view face, const char* what);

/// What a number's u is made of, in mm or degrees, to 5 decimals.
std::vector<BudgetLine> stated_budget(const Measured& value, QuantityKind kind);

/// Adds a length where it was measured.
void add_length(std::vector<StatedQuantity>& quantities, const char* id,
                const std::optional<Measured>& mm);

/// Null: not stated.
StatedQuantity* find_in(std::vector<StatedQuantity>& quantities, std::string_view id);

/// @param face  Empty where there is one photo.
StatedPhoto stated_photo(const Photo& photo, std::string_view face = "");
Facts camera_facts(const CameraModel& camera);
Facts card_facts(CardKind kind, const CardPose& pose, int corners_found, const PrintScale& print);

/// Adds where a photo shows a place, if it does.
/// @param face  Empty where there is one photo.
void add_place(std::vector<PhotoPlace>& places, std::string_view face, const char* what,
               const std::optional<Eigen::Vector2d>& px);

/// How large, how sharp and from how far: of every photo.
Facts look_facts(double scale_px_per_mm, double blur_px, double camera_distance_mm);

/// Of a curve followed in the photo.
Facts trace_facts(std::size_t points, double coverage);

/// Adds what all views' settings end with.
void add_display(Facts& facts, const ReportSettings& settings);

/// The measurement's warnings, then those of the photos, each once.
std::vector<Remark> all_warnings(const std::vector<Remark>& measurement,
                                 std::span<const Photo* const> photos);

/// The same advice, and to check the printed bar where the print is only taken to be true.
std::vector<Remark> with_bar_to_check(std::vector<Remark> advice, const PrintScale& print,
                                      CardKind card);

/// What to do with the blade, then how to take a better photo.
std::vector<Remark> all_advice(std::span<const Remark> with_the_blade,
                               std::span<const Remark> on_the_photo);

}  // namespace evenbevel
