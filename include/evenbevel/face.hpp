#pragma once

#include <string_view>

namespace evenbevel {

/// The knife's: held edge down, tip pointing away from you.
enum class Face { left, right };

constexpr std::string_view name(Face face) { return face == Face::left ? "left" : "right"; }

}  // namespace evenbevel
