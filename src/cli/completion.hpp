#pragma once

#include <span>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

namespace evenbevel::cli {

struct Candidate {
  std::string word;
  std::string what;  ///< In one line; may be empty.
};

/// What may stand where the line is being typed.
struct Candidates {
  std::vector<Candidate> words;
  bool files = false;    ///< Any file will do.
  bool folders = false;  ///< Any folder will do.
};

/// @param words  As typed after the program's name; the last one is not yet whole and may be empty.
///               A "=" of its own after a long option is what bash makes of --units=mm.
/// Words that cannot go on from here (an option given already, one that does not go with it) are
/// left out.
Candidates candidates(const CLI::App& program, std::span<const std::string> words);

/// A line each, a tab before what it is; ":files" and ":folders" for those.
std::string candidate_lines(const Candidates& candidates);

}  // namespace evenbevel::cli
