#pragma once

#include <filesystem>
#include <string_view>

namespace evenbevel {

/// Whether a file was written by evenbevel (its name stands in every kind that is written) and is
/// of the kind that begins so.
bool is_own_file(const std::filesystem::path& file, std::string_view begins);

/// @param by  What is to stand there instead, or its beginning.
/// @throws Error  A file of that name is there which evenbevel did not write, or of another kind: a
///                page does not take the place of a record.
void require_own_file(const std::filesystem::path& file, std::string_view by);

}  // namespace evenbevel
