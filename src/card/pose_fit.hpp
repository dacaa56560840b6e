#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/card.hpp"
#include "photo_lens.hpp"

namespace evenbevel {

std::string card_name(CardKind kind);  ///< "the edge card"

/// The card's corners at their places on the print, as its bars were measured.
std::vector<CardSighting> sightings_of(const FoundCard& card, const PrintScale& scale);

/// @throws Error  Too few of them, or all in one line.
void require_enough(CardKind kind, const std::vector<CardSighting>& sightings);

/// Least squares of all but the strays, from a robust start.
/// @param inputs  Covariance of `SheetInputs`; empty: the camera's own alone.
/// @throws Error  Too few corners left, or corners that do not lie in one plane.
CardPose pose_without_strays(const FoundCard& card, const CameraModel& camera,
                             const std::vector<CardSighting>& sightings,
                             const Transform<Camera, Card>& T_robust,
                             const std::optional<InputsMatrix>& inputs);

}  // namespace evenbevel
