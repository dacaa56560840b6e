#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "evenbevel/error.hpp"

namespace evenbevel::bench {

/// What the page asks of a photo that does not tell it, as the command line does with an option.
enum class Question { tip, shows };
std::string_view name(Question question);

/// Those whose option a refusal names.
std::vector<Question> questions_of(const Error& error);

/// A page has no command line: what a sentence says of options is left out. What only an option
/// can do is answered below, where the page asks for it, else done on the computer.
///   "take it again; or look without it (--no-card)" -> "take it again"
std::string without_options(const std::string& what_to_do);

Error without_options(const Error& error);

/// Text with another in its place, in both sentences.
Error replaced(const Error& error, const std::string& what, const std::string& by);

}  // namespace evenbevel::bench
