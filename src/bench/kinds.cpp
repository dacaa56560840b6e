#include "bench/kinds.hpp"

#include <algorithm>

#include "bench/measure_job.hpp"

namespace evenbevel::bench {
namespace {

constexpr std::array<std::string_view, BenchKind::kMostSteps> kLampPlaces = {
    "Photo 1 of 4: that face up on the side card, the other lamps out, one small lamp low, half a "
    "metre out, in line with the card's tick 1 (left of it). Blade and card stay where they are "
    "from now on.",
    "Photo 2 of 4: the lamp in line with tick 2 (upper left).",
    "Photo 3 of 4: the lamp in line with tick 3 (beyond the card's upper edge).",
    "Photo 4 of 4: the lamp in line with tick 4 (upper right)."};

constexpr Judged kEdgeOffMiddle = {KnifeFact::tolerance, "edge off the middle"};

constexpr std::array<BenchKind, 8> kKinds = {
    {{.view = BenchView::edge,
      .name = "edge",
      .label = "Edge, from above",
      .card = CardKind::edge,
      .needs_thickness = true,
      .of_a_knife = true,
      .asks = true,
      .judged = kEdgeOffMiddle,
      .measure = measure_edges_on_bench,
      .guide =
          {"Blade edge-up in the jaws, edge card around it. Camera straight over the edge, soft "
           "light from both sides."}},
     {.view = BenchView::pair,
      .name = "pair",
      .label = "Edge, blade turned: 2 photos",
      .card = CardKind::edge,
      .needs_thickness = true,
      .of_a_knife = true,
      .asks = true,
      .judged = kEdgeOffMiddle,
      .measure = measure_edges_on_bench,
      .guide =
          {"Photo 1 of 2: the blade edge-up in the jaws, edge card around it.",
           "Photo 2 of 2: now turn the blade end for end in the same jaws; leave card and jaws "
           "as they are."}},
     {.view = BenchView::faces,
      .name = "faces",
      .label = "The two faces: 2 photos",
      .card = CardKind::side,
      .needs_thickness = true,
      .of_a_knife = true,
      .judged = {KnifeFact::side_tolerance, "bevel lines, and plunge lines, one against the other"},
      .measure = measure_faces_on_bench,
      .guide =
          {"Photo 1 of 2: the left face up on the side card. Left is the knife's, edge down, "
           "tip away from you.",
           "Photo 2 of 2: now turn the blade over, the right face up, and leave the card as it "
           "is."}},
     {.view = BenchView::section,
      .name = "section",
      .label = "Cross-section at the heel",
      .card = CardKind::heel,
      .needs_thickness = false,
      .of_a_knife = true,
      .judged = {KnifeFact::choil_tolerance, "one half thicker than the other"},
      .measure = measure_section_on_bench,
      .guide = {"Heel end toward the camera, the heel card behind it. Look along the blade."}},
     {.view = BenchView::finish_left,
      .name = "finish-left",
      .label = "Scratches, left face: 4 photos",
      .card = CardKind::side,
      .needs_thickness = true,
      .of_a_knife = true,
      .measure = measure_left_finish_on_bench,
      .guide = kLampPlaces},
     {.view = BenchView::finish_right,
      .name = "finish-right",
      .label = "Scratches, right face: 4 photos",
      .card = CardKind::side,
      .needs_thickness = true,
      .of_a_knife = true,
      .measure = measure_right_finish_on_bench,
      .guide = kLampPlaces},
     {.view = BenchView::practice,
      .name = "practice",
      .label = "Practice strip",
      .card = CardKind::edge,
      .needs_thickness = false,
      .of_a_knife = false,
      .measure = measure_practice_on_bench,
      .guide = {"Lay the practice strip flat, its corners held down. Camera above it, the pattern "
                "filling the picture."}},
     {.view = BenchView::lens,
      .name = "lens",
      .label = "The camera's lens: 10 photos or more",
      .card = CardKind::lens,
      .needs_thickness = false,
      .of_a_knife = false,
      .measure = nullptr,
      .guide = {
          "Lens card on something flat. Fill the picture with it, tilted, and turned a little "
          "more from photo to photo; as near as you will measure from."}}}};

}  // namespace

int BenchKind::steps() const {
  const auto said = std::ranges::count_if(guide, [](std::string_view one) { return !one.empty(); });
  return static_cast<int>(said);
}

std::span<const BenchKind> bench_kinds() { return kKinds; }

const BenchKind& kind_of(BenchView view) {
  return *std::ranges::find(kKinds, view, &BenchKind::view);
}

const BenchKind* kind_named(std::string_view name) {
  const auto found = std::ranges::find(kKinds, name, &BenchKind::name);
  return found == kKinds.end() ? nullptr : &*found;
}

}  // namespace evenbevel::bench
