#include "evenbevel/latest_page.hpp"

#include <utility>

#include "record/files.hpp"
#include "report/page.hpp"
#include "report/verdict.hpp"
#include "units/own_file.hpp"

namespace evenbevel {
namespace {

/// A photo's name and when it came, in one column: a phone is narrow.
std::string photo_cell(const WatchedPhoto& photo) {
  return "<td>" + escaped(photo.photo) + "<br><small>" + escaped(photo.time) + "</small></td>";
}

std::string earlier(const std::vector<WatchedPhoto>& photos) {
  std::vector<std::vector<std::string>> rows;
  rows.reserve(photos.size());
  for (const WatchedPhoto& photo : photos) {
    const std::string result = photo.result.empty() ? "not measured: " + photo.why : photo.result;
    rows.push_back(
        {"<th scope=\"row\" class=\"said\">" + escaped(result) + "</th>", photo_cell(photo)});
  }
  return section("The last photos", plain_table({"result", "photo"}, rows), kScreenOnly);
}

std::string refusal_page(const WatchedPhoto& photo, LengthUnit unit) {
  return page_html({.verdict = Verdict::unresolved,
                    .headline = {"not measured", "not measured"},
                    .what = "photo",
                    .photos = {photo.photo},
                    .unit = unit},
                   "<p class=\"first\">" + escaped(sentence(photo.why)) + "</p>\n<p>" +
                       escaped(sentence(photo.do_next)) + "</p>\n");
}

/// @pre `mark` stands in the page.
void insert_at(std::string& page, const std::string& mark, const std::string& what, bool after) {
  const std::size_t at = after ? page.find(mark) : page.rfind(mark);
  if (at != std::string::npos) page.insert(after ? at + mark.size() : at, what);
}

void write_renewing(const std::filesystem::path& file, std::string page) {
  insert_at(page, "<head>\n", "<meta http-equiv=\"refresh\" content=\"10\">\n", true);
  make_folder(std::filesystem::absolute(file).parent_path());
  require_own_file(file, page);
  write_replacing(file, page);
}

}  // namespace

void write_waiting_page(const std::filesystem::path& file, const std::filesystem::path& watched,
                        LengthUnit unit) {
  if (std::filesystem::is_regular_file(file)) return require_own_file(file, "<!DOCTYPE html>");
  write_renewing(file, page_html({.verdict = Verdict::none,
                                  .headline = {"waiting for a photo", "waiting for a photo"},
                                  .what = "watching",
                                  .photos = {watched.string()},
                                  .unit = unit},
                                 "<p class=\"first\">The first photo that comes into this folder "
                                 "will be measured and shown here.</p>\n"));
}

void write_latest_page(const std::filesystem::path& file,
                       const std::vector<WatchedPhoto>& newest_first,
                       const std::string& report_html, LengthUnit unit) {
  std::string page = report_html.empty() ? refusal_page(newest_first.front(), unit) : report_html;
  insert_at(page, "</main>", earlier(newest_first), false);
  write_renewing(file, std::move(page));
}

}  // namespace evenbevel
