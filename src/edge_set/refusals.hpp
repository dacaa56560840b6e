#pragma once

#include <span>
#include <string>

#include "evenbevel/edge_view.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel::edges {

// Photos that do not belong together, and what their maker is told.

/// @throws Error  Not all of one size.
void require_one_size(std::span<const Photo> photos, std::span<const Photo> turned);

/// @throws Error  Stages differ, or the cards' scales.
void require_one_blade(const EdgeResult& first, const EdgeResult& other);

/// @throws Error  The blade does not lie at one place on the card, or its tip not on one side.
void require_one_set_up(std::span<const EdgeResult> results, const CameraModel& camera);

struct JointSolution;
/// @throws Error  A photo's borders lie elsewhere than those of all photos together.
void require_agreement(std::span<const EdgeResult> results, const JointSolution& joint);

[[noreturn]] void fail_not_turned(const EdgeResult& turned, const std::string& because);
[[noreturn]] void fail_nothing_common(const EdgeResult& other);

/// The name under which a result's photo goes.
std::string photo_name(const EdgeResult& result);

}  // namespace evenbevel::edges
