#pragma once

#include "outline.hpp"

namespace evenbevel::choil {

/// Leaves out points where another border was taken for the end face's: a point further in than its
/// neighbours above and below, and toward the edge one that stands further out than the side
/// beneath it leads to, as the blade behind does. A narrower tip, of a sharpened edge say, stays.
/// @param px_per_mm  At the edge.
void drop_strays(Outline& outline, double px_per_mm);

/// Leaves out all below a place where a border jumps to and stays: no side of a section opens so
/// steeply; from there on another border was followed, of the tang or the blade behind.
void end_at_jump(Outline& outline);

}  // namespace evenbevel::choil
