#pragma once

#include <string>
#include <vector>

#include "report/quantities.hpp"

namespace evenbevel {

// The terminal summary's parts: at most kTextColumns wide, no colours.
constexpr std::size_t kTextColumns = 100;

/// Blanks up to the width, after the text or before it.
std::string padded(const std::string& text, std::size_t width, bool right = false);

/// Label, value, U95 and a few words.
std::string text_row(const std::string& label, const Printed& number, const std::string& note);

/// Breaks at spaces; later lines are indented under the first.
std::string text_wrapped(const std::string& label, const std::string& text);

/// The gravest come first; the rest is in the files.
std::string text_warnings(std::span<const Remark> warnings, LengthUnit unit);

}  // namespace evenbevel
