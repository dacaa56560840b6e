#include "report/edge_quantities.hpp"

#include <algorithm>
#include <array>

namespace evenbevel {
namespace {

constexpr std::array kEdgeQuantities = {
    EdgeQuantity{"centreline_offset", "centreline offset, mean", &EdgeResult::centreline_offset_mm,
                 QuantityKind::signed_length, kAtAGlance},
    EdgeQuantity{"centreline_offset_worst", "centreline offset, worst",
                 &EdgeResult::centreline_offset_worst_mm, QuantityKind::signed_length, kAtAGlance},
    EdgeQuantity{"symmetry", "symmetry zone, 2 x worst", &EdgeResult::symmetry_mm,
                 QuantityKind::length},
    EdgeQuantity{"thickness", "thickness", &EdgeResult::thickness_mm, QuantityKind::length},
    EdgeQuantity{"line_gap", "gap between the lines", &EdgeResult::line_gap_mm,
                 QuantityKind::length, kAtAGlance},
    EdgeQuantity{"land_width", "land width", &EdgeResult::land_width_mm, QuantityKind::length,
                 kAtAGlance},
    EdgeQuantity{"land_taper", "land wider 100 mm nearer the tip by", &EdgeResult::land_taper_mm,
                 QuantityKind::signed_length},
    EdgeQuantity{"bow", "bow of the flats, as clamped", &EdgeResult::bow_mm,
                 QuantityKind::signed_length},
    EdgeQuantity{"facet_width_left", "facet width, left", &EdgeResult::facet_width_left_mm,
                 QuantityKind::length},
    EdgeQuantity{"facet_width_right", "facet width, right", &EdgeResult::facet_width_right_mm,
                 QuantityKind::length},
    EdgeQuantity{"facet_width_difference", "facet width, left - right",
                 &EdgeResult::facet_width_difference_mm, QuantityKind::signed_length, kAtAGlance},
    EdgeQuantity{"facet_angle_left", "facet angle, left", &EdgeResult::facet_angle_left_rad,
                 QuantityKind::angle, kAtAGlance},
    EdgeQuantity{"facet_angle_right", "facet angle, right", &EdgeResult::facet_angle_right_rad,
                 QuantityKind::angle, kAtAGlance},
    EdgeQuantity{"land_height_left", "land above the left flat's border",
                 &EdgeResult::land_height_left_mm, QuantityKind::length},
    EdgeQuantity{"land_height_right", "land above the right flat's border",
                 &EdgeResult::land_height_right_mm, QuantityKind::length},
    EdgeQuantity{"setup_offset", "set-up's own offset", &EdgeResult::setup_offset_mm,
                 QuantityKind::signed_length, kAtAGlance},
    EdgeQuantity{"plunge_left", "plunge line, left, at x", &EdgeResult::plunge_left_mm,
                 QuantityKind::signed_length},
    EdgeQuantity{"plunge_right", "plunge line, right, at x", &EdgeResult::plunge_right_mm,
                 QuantityKind::signed_length},
    EdgeQuantity{"plunge_mismatch", "plunge mismatch, left - right",
                 &EdgeResult::plunge_mismatch_mm, QuantityKind::signed_length, kAtAGlance},
};

constexpr std::array kEdgeStationQuantities = {
    StationQuantity{"centreline_offset", "offset", &EdgeStation::centreline_offset_mm,
                    QuantityKind::signed_length},
    StationQuantity{"thickness", "thickness", &EdgeStation::thickness_mm},
    StationQuantity{"line_gap", "line gap", &EdgeStation::line_gap_mm},
    StationQuantity{"land_width", "land", &EdgeStation::land_width_mm},
    StationQuantity{"facet_width_left", "left facet", &EdgeStation::facet_width_left_mm},
    StationQuantity{"facet_width_right", "right facet", &EdgeStation::facet_width_right_mm},
};

}  // namespace

std::span<const EdgeQuantity> edge_quantities() { return kEdgeQuantities; }
std::span<const StationQuantity> station_quantities() { return kEdgeStationQuantities; }

double seen_share(const EdgeResult& result) {
  if (result.stations.empty()) return 0.0;
  const auto seen = std::count_if(result.stations.begin(), result.stations.end(),
                                  [](const EdgeStation& s) { return s.centreline_offset_mm; });
  return static_cast<double>(seen) / static_cast<double>(result.stations.size());
}

bool anything_seen(const EdgeStation& station) {
  return std::any_of(kEdgeStationQuantities.begin(), kEdgeStationQuantities.end(),
                     [&](const StationQuantity& q) { return measured(station.*q.member); });
}

std::string toward(const Measured& offset_mm) {
  if (!resolved(offset_mm)) return "";
  return offset_mm.value > 0.0 ? "toward the left face" : "toward the right face";
}

const char* stage_words(Stage stage) {
  switch (stage) {
    case Stage::scribed:
      return "scribed lines";
    case Stage::ground:
      return "edge ground";
    case Stage::bevelled:
      return "bevelled";
  }
  return "";
}

}  // namespace evenbevel
