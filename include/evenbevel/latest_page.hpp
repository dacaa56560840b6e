#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "evenbevel/report.hpp"

namespace evenbevel {

/// What became of a photo that came into a watched folder.
struct WatchedPhoto {
  std::string time = {};  ///< Of day.
  std::string photo = {};
  Verdict verdict = Verdict::none;
  std::string result = {};  ///< In a few words; empty: not measured.
  std::string why = {}, do_next = {};
};

/// The page until the first photo comes. An earlier page of ours is left as it is.
/// @throws Error  Not writable, or a file that is not ours.
void write_waiting_page(const std::filesystem::path& file, const std::filesystem::path& watched,
                        LengthUnit unit);

/// The page that stays open beside the grinder: the newest photo's report, or why there is none,
/// and what came before. It asks for itself anew every few seconds. Whole at any instant.
/// @param newest_first  At least one.
/// @param report_html   The newest one's report.html; empty when it was not measured.
/// @throws Error  Not writable.
void write_latest_page(const std::filesystem::path& file,
                       const std::vector<WatchedPhoto>& newest_first,
                       const std::string& report_html, LengthUnit unit);

}  // namespace evenbevel
