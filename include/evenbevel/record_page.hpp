#pragma once

#include <string>

#include "evenbevel/record.hpp"

namespace evenbevel {

/// One self-contained page of a knife: pictures through the stages, charts with their 95 % bands,
/// what was taken off each face, every entry, notes.
/// @throws Error  No such knife.
std::string knife_html(Record& record, const std::string& knife, LengthUnit unit);

/// Makes the small pictures that the page shows, so that it need not wait for them; a photo that
/// cannot be read is left out. They are kept beside the photos and made anew when they are missing.
void make_previews(Record& record, const std::string& knife);

/// Adds an entry (its time is filled in) and the pictures that its page will want; the record is
/// made when it is not there.
/// @throws Error  As Record::open_or_make and Record::add.
Added add_with_pictures(const std::filesystem::path& record_file, NewEntry entry);

/// Writes the page whole or not at all. @throws Error  Not writable.
void write_page(const std::filesystem::path& file, const std::string& html);

}  // namespace evenbevel
