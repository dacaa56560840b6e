#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evenbevel/face.hpp"
#include "evenbevel/record.hpp"
#include "evenbevel/statement.hpp"

namespace evenbevel {

// Two stages of one knife against each other, from what their reports state and nothing else.

/// A quantity at both stages, later minus earlier; mm or degrees.
struct Change {
  RecordedValue from = {}, to = {};
  double change = 0.0, u = 0.0, U95 = 0.0;
  bool resolved = false;  ///< The change is larger than its U95.
};

enum class SteelKind {
  edge,         ///< The land's border came nearer to the mid-plane of the flats, by this much.
  edge_line,    ///< What the edge still stands outside its scribe line; negative: past it.
  bevel_line,   ///< The bevel line came up the face by this much, along z.
  behind_edge,  ///< The section at a depth behind the edge became thinner; one face: from the
                ///< mid-plane of the flats.
};

/// Steel that went between two stages, or that is left to a line; mm.
struct Steel {
  SteelKind kind = SteelKind::edge;
  std::optional<Face> face = {};  ///< Empty: both together.
  double at_mm = 0.0;             ///< behind_edge: the depth.
  double value_mm = 0.0, u_mm = 0.0, U95_mm = 0.0;
  bool resolved = false;
};

/// What two statements of the same view say of the steel between them; of two views, nothing.
///
/// Edge: the land's borders lie e/2 + c (left) and e/2 - c (right) from the mid-plane; u from both,
/// uncorrelated as left and right borders are equally uncertain. Before the edge is ground it is
/// the whole stock, half the thickness to each side.
/// Side: how much nearer to the spine the bevel line came, so that an edge ground back meanwhile
/// does not count; without a spine how much further from the edge.
/// Edge and side over the stations that both reports saw when both count x from the plunge lines,
/// else over all that each saw.
/// Choil: at the same depth behind the edge as it was each time. Each face alone only where both
/// reports took their axis from the flats.
/// The two reports are taken as independent; what they share (card, camera, thickness gauge)
/// cancels in part, so that u is rather too wide. The coverage factor is the larger one of the two.
std::vector<Steel> steel_between(const Statement& earlier, const Statement& later);

/// Full sentences on what cannot be: steel that seems to have come back. None when all is well.
std::vector<std::string> steel_remarks(std::span<const Steel> steel);

struct ViewComparison {
  RecordEntry from = {}, to = {};  ///< The newest of each stage in that view.
  std::vector<Change> changes = {};
  std::vector<Steel> steel = {};
};

struct Comparison {
  std::string knife = {}, from_stage = {}, to_stage = {};
  std::vector<ViewComparison> views = {};
  std::vector<std::string> remarks = {};  ///< Full sentences.
};

/// @throws Error  No such knife or stage, or no view that both stages have.
Comparison compare_stages(Record& record, const std::string& knife, const std::string& from_stage,
                          const std::string& to_stage);

std::string comparison_text(const Comparison& comparison, LengthUnit unit);

/// "taken off the edge, left face".
std::string steel_label(const Steel& steel, LengthUnit unit);

}  // namespace evenbevel
