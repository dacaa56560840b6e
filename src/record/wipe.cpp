#include "record/wipe.hpp"

#include "embedded/wipe.css.hpp"
#include "embedded/wipe.js.hpp"
#include "report/page.hpp"

namespace evenbevel {
namespace {

std::string css_number(double value) {
  std::string text = std::to_string(value);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text;
}

std::string shot_html(const Shot& shot) {
  const auto* bytes = reinterpret_cast<const uchar*>(shot.picture.jpeg.data());
  return "<figure class=\"shot\">\n<figcaption>" + escaped(shot.title) +
         "</figcaption>\n<img alt=\"" + escaped(shot.alt) + "\" data-title=\"" +
         escaped(shot.title) + "\" data-from=\"" + css_number(shot.picture.from_mm) +
         "\" data-to=\"" + css_number(shot.picture.to_mm) + "\" data-top=\"" +
         css_number(shot.picture.top_mm) + "\" data-bottom=\"" +
         css_number(shot.picture.bottom_mm) + "\" data-ratio=\"" + css_number(shot.picture.ratio) +
         "\" src=\"data:image/jpeg;base64," + base64({bytes, shot.picture.jpeg.size()}) +
         "\">\n</figure>\n";
}

std::string choice(const std::string& label, const char* style, const std::vector<Shot>& shots,
                   std::size_t chosen) {
  std::string html = "<label>" + label + " <select class=\"" + style + "\" autocomplete=\"off\">\n";
  for (std::size_t i = 0; i < shots.size(); ++i) {
    html += "<option value=\"" + std::to_string(i) + "\"" + (i == chosen ? " selected" : "") + ">" +
            escaped(shots[i].title) + "</option>\n";
  }
  return html + "</select></label>\n";
}

std::string slider(const std::string& name, const std::vector<Shot>& shots) {
  if (shots.size() < 2) return "";
  return "<div class=\"over\">\n<div class=\"choices\">" +
         choice("Left of the border", "before", shots, 0) +
         choice("Right of it", "after", shots, shots.size() - 1) +
         "</div>\n<div class=\"frame\"><div class=\"under\"><img alt=\"\"></div><div "
         "class=\"top\"><img alt=\"\"></div><div class=\"border\"></div></div>\n<input "
         "class=\"border-at\" type=\"range\" min=\"0\" max=\"100\" value=\"50\" "
         "autocomplete=\"off\" aria-label=\"Border between the two pictures: " +
         escaped(name) + "\">\n</div>\n";
}

}  // namespace

std::string wipe_html(const std::string& name, const std::vector<Shot>& shots) {
  if (shots.empty()) return "";
  std::string pictures;
  for (const Shot& shot : shots) pictures += shot_html(shot);
  const std::string& words = shots.front().picture.words;
  const std::string note = words.empty() ? "" : "<p class=\"quiet\">" + escaped(words) + "</p>\n";
  return "<div class=\"wipe\">\n<h3>" + escaped(name) + "</h3>\n" + slider(name, shots) +
         "<div class=\"shots\">\n" + pictures + "</div>\n" + note + "</div>\n";
}

std::string wipe_style() { return std::string(embedded::kWipeStyle) + "\n"; }

std::string wipe_script() { return embedded::kWipeScript; }

}  // namespace evenbevel
