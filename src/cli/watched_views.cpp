#include "watched_views.hpp"

#include <algorithm>
#include <span>
#include <vector>

#include "evenbevel/card.hpp"
#include "evenbevel/error.hpp"
#include "print_scale.hpp"

namespace evenbevel::cli {
namespace {

/// As the edge view's, with the knife's or the shop's tolerance and the printed bar of that card.
CommonOptions options_of(const EdgeViewOptions& edge, const Shop& shop, CardKind card,
                         const std::optional<double>& knifes_tolerance_mm,
                         const std::string& shops_tolerance) {
  CommonOptions options;
  options.command_line = edge.command_line;
  options.units = edge.units;
  options.from.add_text("display_unit", edge.from.text("display_unit"));
  options.from.add_text("thickness", edge.from.text("thickness"));
  settle_length(options, "tolerance", options.tolerance, knifes_tolerance_mm, shops_tolerance);
  settle_printed_bar(options, shop, card);
  return options;
}

/// Of several cards the one that shows most; the measurement itself refuses two.
CardKind card_in(const Photo& photo) {
  const std::vector<FoundCard> cards = find_cards(grey8(photo.pixels));
  const auto most = std::ranges::max_element(
      cards, {}, [](const FoundCard& card) { return card.corners.size(); });
  return most == cards.end() ? CardKind::edge : most->kind;
}

}  // namespace

WatchedViews::WatchedViews(const EdgeViewOptions& options, const KnifeFacts& knife,
                           const Shop& shop, bool finish)
    : common_(options),
      camera_file_(options.camera_file),
      card_(!options.no_card),
      finish_(finish),
      edge_(edge_view_settings(options)),
      edge_report_(edge_view_report_settings(options)) {
  if (!camera_file_.empty()) read_camera_file(camera_file_);
  const LengthUnit unit = options.unit();
  const CommonOptions side =
      options_of(options, shop, CardKind::side, fact_of(knife, KnifeFact::side_tolerance),
                 shop.side_tolerance);
  side_.thickness_mm = edge_.thickness_mm;
  side_.step_mm = edge_.step_mm;
  side_.print = print_scale(side.printed_bar, printed_bar_mm(CardKind::side), unit);
  side_report_ = report_settings(side);
  const CommonOptions choil =
      options_of(options, shop, CardKind::heel, fact_of(knife, KnifeFact::choil_tolerance),
                 shop.choil_tolerance);
  choil_.thickness_mm = edge_.thickness_mm;
  choil_.print = print_scale(choil.printed_bar, printed_bar_mm(CardKind::heel), unit);
  choil_report_ = report_settings(choil);
}

Written WatchedViews::measure(Photo& photo, const std::filesystem::path& folder) const {
  const CardKind card = card_ ? card_in(photo) : CardKind::edge;
  if (!card_) return edge(photo, folder);
  return drawn_when_refused(common_, photo, card, folder.string(), [&] {
    if (card == CardKind::side) return face(photo, folder);
    if (card == CardKind::heel) return heel(photo, folder);
    return edge(photo, folder);
  });
}

Written WatchedViews::edge(Photo& photo, const std::filesystem::path& folder) const {
  const ChosenCamera camera = choose_camera(photo, camera_file_);
  return measure_edge({std::span(&photo, 1), {}}, camera, edge_, edge_report_, folder);
}

Written WatchedViews::face(Photo& photo, const std::filesystem::path& folder) const {
  const ChosenCamera camera = choose_camera(photo, camera_file_);
  const std::optional<Face> shown = face_shown(photo, camera.model, side_);
  if (!shown) {
    throw Error("the photo does not tell the spine from the edge, and so not which face it shows",
                "measure it with 'evenbevel side --left' or '--right'");
  }
  const FaceToMeasure face{*shown, photo, camera};
  if (finish_) {
    const FinishSettings scratches{.thickness_mm = side_.thickness_mm, .print = side_.print};
    ReportSettings report = side_report_;
    report.tolerance_mm.reset();  // A length: scratches are counted.
    return measure_finish(std::span(&face, 1), scratches, report, folder);
  }
  return measure_faces(std::span(&face, 1), side_, side_report_, folder);
}

Written WatchedViews::heel(Photo& photo, const std::filesystem::path& folder) const {
  const ChosenCamera camera = choose_camera(photo, camera_file_);
  return measure_section(photo, camera, choil_, choil_report_, folder);
}

}  // namespace evenbevel::cli
