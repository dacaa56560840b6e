#pragma once

#include <optional>

#include "edge_check.hpp"
#include "evenbevel/choil_view.hpp"
#include "find_section.hpp"
#include "outline.hpp"
#include "section_plane.hpp"

namespace evenbevel::choil {

/// Light of the card's white, beside the markers around the cut-out; linear.
double card_white(const cv::Mat& pixels, const SectionPlane& plane, const PrintScale& print);

/// @throws Error  Says what is missing: light, paper behind the cut-out, or the blade.
void require_section(const Search& search, double white);

/// @throws Error  Blurred or too small to be measured.
void require_sharp(const Outline& outline);
/// @throws Error  Most of the section's height was not read.
void require_coverage(const Outline& outline);

/// @throws Error  The blade may end elsewhere.
void require_edge(const std::optional<EdgeDoubt>& doubt);

/// @throws Error  The flats and the thickness given disagree by more than 2 %.
void require_agreement(const ChoilResult& result, const ChoilSettings& settings);

/// Warnings and how to take a better photo.
void add_warnings(ChoilResult& result, const Outline& outline, const RoughSection& rough,
                  double foot_offset_mm, bool axis_doubtful);

}  // namespace evenbevel::choil
