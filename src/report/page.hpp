#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "evenbevel/report.hpp"

namespace evenbevel {

// The parts of a report page: one file that asks for nothing from outside. Every length stands in
// it twice, in mm and in inches; one of them is shown, and the reader switches.

InUnits length_in_units(double mm);

/// Text made safe for a page: & < > " ' as entities.
std::string escaped(std::string_view text);
std::string escaped(const std::string& text);
std::string escaped(const char* text);
/// Both, of which the page shows one; plain where they are alike.
std::string escaped(const InUnits& words);

/// RFC 4648, section 4.
std::string base64(std::span<const uchar> bytes);

struct PageHead {
  Verdict verdict = Verdict::none;
  InUnits headline;
  std::string what;  ///< The view in a few words.
  std::vector<std::string> photos;
  LengthUnit unit = LengthUnit::mm;  ///< Shown first.
};

/// What one kind of page has beside the common style and script.
struct PageExtra {
  std::string style = {}, script = {};
};

/// @param main  HTML between the head with its units switch and the end.
std::string page_html(const PageHead& head, const std::string& main, const PageExtra& extra = {});

inline constexpr const char* kScreenOnly = "screen";   ///< Left out of the printed page.
inline constexpr const char* kPlainOnPaper = "plain";  ///< Printed without its heading.

/// Empty when the body is. @param look  A class of the page's style.
std::string section(const std::string& title, const std::string& body, const char* look = "");

/// Picture, numbers and charts: below each other on a screen; on paper the picture stands beside,
/// or the charts where there is none.
std::string sheet(const std::string& picture, const std::string& numbers,
                  const std::string& charts);

std::string list(const std::vector<InUnits>& items);
std::string list(const std::vector<std::string>& items);
/// What is looked up rather than read.
std::string folded(const InUnits& title, const std::string& body);

/// Names, values and remarks of something else than quantities; `head` is one cell a column.
std::string plain_table(const std::vector<std::string>& head,
                        const std::vector<std::vector<std::string>>& rows_of_html);

/// A label and its value, for how the photo was measured.
std::string fact(const std::string& label, const InUnits& value);
std::string facts(const std::string& rows);

/// @param unit  Of the picture's first JPEG; without a second one the page says so.
std::string figure(const PagePicture& picture, LengthUnit unit);

std::string cautions_html();

std::string page_style();
std::string page_script();

}  // namespace evenbevel
