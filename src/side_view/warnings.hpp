#pragma once

#include "face_numbers.hpp"

namespace evenbevel::side {

/// What the maker should know of the photos, and how to take better ones. Either may be null.
void add_words(const FaceNumbers* left, const FaceNumbers* right, SideResult& result);

/// Places and stretches that were asked for and cannot be given.
void add_words_on_places(const SideSettings& settings, SideResult& result);

}  // namespace evenbevel::side
