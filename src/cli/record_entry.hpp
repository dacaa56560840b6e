#pragma once

#include <filesystem>
#include <string>

#include "evenbevel/record.hpp"

namespace evenbevel::cli {

/// @throws Error  Not readable.
std::string text_of_file(const std::filesystem::path& path);

/// Adds an entry (its time is filled in) and says on the terminal what became of it.
void add_to_record(const std::filesystem::path& record_file, NewEntry entry);

}  // namespace evenbevel::cli
