#include "report/statement_pieces.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel_version.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

Facts identity_facts(const CameraIdentity& identity) {
  Facts facts;
  facts.add_text("make", identity.make);
  facts.add_text("model", identity.model);
  facts.add_text("lens", identity.lens);
  facts.add_number("focal_length", identity.focal_length_mm, 3);
  facts.add_number("focal_length_35mm", identity.focal_length_35mm, 3);
  facts.add_number("digital_zoom", identity.digital_zoom, 3);
  return facts;
}

const char* unit_name(LengthUnit unit) {
  if (unit == LengthUnit::thou) return "thou";
  return unit == LengthUnit::mm ? "mm" : "in";
}

Facts lens_facts(const LensChange& lens) {
  const auto u = [&](int axis) { return std::sqrt(lens.centre_covariance(axis, axis)); };
  Facts facts;
  facts.add_number("focal_length_percent", 100.0 * lens.focal, 3);
  facts.add_number("focal_length_percent_u", 100.0 * lens.focal_u, 3);
  for (const int axis : {0, 1}) {
    const std::string name(kSensorParameters[static_cast<std::size_t>(kCentreAt + axis)]);
    facts.add_number(name + "_px", lens.centre_px(axis), 2);
    facts.add_number(name + "_px_u", u(axis), 2);
  }
  return facts;
}

void add_lens(Facts& facts, const CameraModel& camera) {
  facts.add_text("lens_model", std::string(camera.lens.model().name()));
  const LensVector values = parameters(camera);
  for (int i = 0; i < kCoefficientsAt; ++i) {
    facts.add_number(parameter_name(camera, i) + "_px", values(i), 3);
  }
  std::string coefficients = "distortion";
  for (int i = kCoefficientsAt; i < parameter_count(camera); ++i) {
    coefficients += '_' + parameter_name(camera, i);
  }
  facts.add_list(coefficients, {values.begin() + kCoefficientsAt, values.end()}, 7);
}

}  // namespace

Statement new_statement(const char* view, const ReportSettings& settings) {
  Statement statement{.view = view};
  statement.provenance.version = EVENBEVEL_VERSION;
  statement.provenance.command_line = settings.command_line;
  return statement;
}

std::vector<BudgetLine> stated_budget(const Measured& value, QuantityKind kind) {
  std::vector<BudgetLine> lines = value.budget;
  for (BudgetLine& line : lines) {
    line.u = rounded(kind == QuantityKind::angle ? degrees(line.u) : line.u, 5);
  }
  return lines;
}

StatedQuantity stated(const Quantity& quantity) {
  const bool angle = quantity.what.kind == QuantityKind::angle;
  return {.id = quantity.what.name,
          .value = angle ? stated_angle(quantity.value) : stated_length(quantity.value),
          .budget = stated_budget(quantity.value, quantity.what.kind)};
}

std::vector<StatedQuantity> stated(std::span<const Quantity> quantities) {
  std::vector<StatedQuantity> all;
  all.reserve(quantities.size());
  for (const Quantity& quantity : quantities) all.push_back(stated(quantity));
  return all;
}

std::vector<StatedQuantity> stated(std::span<const Quantity> quantities, const NoteOf& note) {
  std::vector<StatedQuantity> all = stated(quantities);
  for (std::size_t i = 0; i < all.size(); ++i) {
    all[i].note = in_units([&](LengthUnit unit) { return note(quantities[i], unit); });
  }
  return all;
}

std::vector<DeclaredQuantity> declared(std::span<const QuantityName> names) {
  std::vector<DeclaredQuantity> all;
  all.reserve(names.size());
  for (const QuantityName& name : names) all.push_back({name.name, name.label, name.kind});
  return all;
}

Glance::Row glance_row(const InUnits& label, QuantityKind kind, const Measured& value,
                       const InUnits& note) {
  const auto said = [&](const std::string Printed::*part) {
    return in_units([&](LengthUnit unit) { return printed(kind, value, unit).*part; });
  };
  return {.label = label, .value = said(&Printed::value), .U95 = said(&Printed::U95), .note = note};
}

std::vector<Glance::Row> glance_rows(std::span<const Quantity> quantities, const NoteOf& note) {
  std::vector<Glance::Row> rows;
  for (const Quantity& quantity : quantities) {
    if (!quantity.what.at_a_glance) continue;
    rows.push_back(glance_row(quantity.what.label, quantity.what.kind, quantity.value,
                              in_units([&](LengthUnit unit) { return note(quantity, unit); })));
  }
  return rows;
}

void add_column(std::vector<StationColumn>& columns, const QuantityName& quantity,
                std::string_view face) {
  const std::string of(face);
  columns.push_back({.what = quantity.name + (of.empty() ? "" : "_" + of),
                     .label = quantity.label + (of.empty() ? "" : ", " + of),
                     .number = quantity.kind});
}

void add_place_column(std::vector<StationColumn>& columns, std::string_view face,
                      const char* what) {
  columns.push_back({.kind = StationColumn::Kind::place, .what = what, .face = std::string(face)});
}

void add_length(std::vector<StatedQuantity>& quantities, const char* id,
                const std::optional<Measured>& mm) {
  if (!measured(mm)) return;
  quantities.push_back(
      {.id = id, .value = stated_length(*mm), .budget = stated_budget(*mm, QuantityKind::length)});
}

StatedQuantity* find_in(std::vector<StatedQuantity>& quantities, std::string_view id) {
  const auto found = std::ranges::find(quantities, id, &StatedQuantity::id);
  return found == quantities.end() ? nullptr : &*found;
}

StatedPhoto stated_photo(const Photo& photo, std::string_view face) {
  return {.face = std::string(face),
          .name = photo.name,
          .sha256 = photo.sha256,
          .width_px = photo.pixels.cols,
          .height_px = photo.pixels.rows,
          .exif_orientation = photo.orientation,
          .exif_camera = identity_facts(photo.camera)};
}

Facts camera_facts(const CameraModel& camera) {
  Facts facts;
  facts.add_flag("guessed", camera.guessed).add_text("file", camera.file);
  if (!camera.file.empty()) facts.add_text("sha256", sha256_of_file(camera.file).value_or(""));
  facts.add_count("width_px", camera.width_px).add_count("height_px", camera.height_px);
  add_lens(facts, camera);
  facts.add_number("rms_px", camera.rms_px, 3);
  facts.add_number("nearest", camera.nearest_mm, 1).add_number("farthest", camera.farthest_mm, 1);
  const Facts identity = identity_facts(camera.identity);
  if (!identity.empty()) facts.add_part("identity", identity);
  return facts;
}

Facts card_facts(CardKind kind, const CardPose& pose, int corners_found, const PrintScale& print) {
  Facts facts;
  facts.add_text("kind", std::string(name(kind))).add_count("corners_found", corners_found);
  facts.add_count("corners_used", pose.corners).add_count("corners_rejected", pose.rejected);
  facts.add_number("rms_px", pose.rms_px, 3).add_number("worst_px", pose.worst_px, 3);
  facts.add_number("print_scale_along", print.along, 6);
  facts.add_number("print_scale_across", print.across, 6);
  facts.add_number("print_scale_u", print.u, 6);
  facts.add_text("print_scale_from", print.measured ? "measured" : "assumed");
  facts.add_part("lens_against_camera_file", lens_facts(pose.lens));
  return facts;
}

void add_place(std::vector<PhotoPlace>& places, std::string_view face, const char* what,
               const std::optional<Eigen::Vector2d>& px) {
  if (px && px->allFinite()) places.push_back({std::string(face), what, *px});
}

Facts look_facts(double scale_px_per_mm, double blur_px, double camera_distance_mm) {
  return Facts()
      .add_number("scale_px_per_mm", scale_px_per_mm, 4)
      .add_number("blur_px", blur_px, 3)
      .add_number("camera_distance", camera_distance_mm, 2);
}

Facts trace_facts(std::size_t points, double coverage) {
  return Facts()
      .add_count("points", static_cast<std::int64_t>(points))
      .add_number("coverage", coverage, 4);
}

void add_display(Facts& facts, const ReportSettings& settings) {
  facts.add_mm("tolerance", settings.tolerance_mm);
  if (facts.find("land") == nullptr) facts.add_mm("land", settings.wanted_land_mm);
  facts.add_text("display_unit", unit_name(settings.unit));
  if (!settings.from.empty()) facts.add_part("from", settings.from);
}

std::vector<Remark> all_warnings(const std::vector<Remark>& measurement,
                                 std::span<const Photo* const> photos) {
  std::vector<Remark> all = measurement;
  for (const Photo* photo : photos) add_new(all, photo->warnings);
  return all;
}

std::vector<Remark> with_bar_to_check(std::vector<Remark> advice, const PrintScale& print,
                                      CardKind card) {
  constexpr double kCoverage = 1.96;  // of a normal distribution, 95 %
  if (!print.measured) {
    advice.push_back(
        remark<RemarkCode::check_printed_bar>(printed_bar_mm(card), 100.0 * kCoverage * print.u));
  }
  return advice;
}

std::vector<Remark> all_advice(std::span<const Remark> with_the_blade,
                               std::span<const Remark> on_the_photo) {
  std::vector<Remark> all(with_the_blade.begin(), with_the_blade.end());
  all.insert(all.end(), on_the_photo.begin(), on_the_photo.end());
  return all;
}

}  // namespace evenbevel
