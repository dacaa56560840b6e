#include "report/page.hpp"

#include <algorithm>

#include "evenbevel/advice.hpp"
#include "evenbevel_version.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

const char* sign_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::within:
      return "&#10003;";
    case Verdict::outside:
      return "&#10007;";
    case Verdict::unresolved:
      return "?";
    case Verdict::none:
      break;
  }
  return "&#8226;";
}

/// A script's hash, as a content security policy wants it (CSP level 3, 2.3.1).
std::string script_hash(const std::string& script) {
  const std::string hex = sha256(script);
  std::vector<uchar> bytes;
  for (std::size_t i = 0; i + 1 < hex.size(); i += 2) {
    bytes.push_back(static_cast<uchar>(std::stoi(hex.substr(i, 2), nullptr, 16)));
  }
  return "sha256-" + base64(bytes);
}

std::string policy(const PageExtra& extra) {
  const std::string own = extra.script.empty() ? "" : " '" + script_hash(extra.script) + "'";
  return "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src '" +
         script_hash(page_script()) + "'" + own + "; base-uri 'none'; form-action 'none'";
}

std::string units_switch(LengthUnit unit) {
  const auto choice = [&](LengthUnit of, const char* value, const char* words) {
    return std::string("<label><input type=\"radio\" name=\"unit\" autocomplete=\"off\" value=\"") +
           value + "\"" + ((unit == LengthUnit::mm) == (of == LengthUnit::mm) ? " checked" : "") +
           "> " + words + "</label>\n";
  };
  return "<fieldset class=\"units\">\n<legend>Lengths in</legend>\n" +
         choice(LengthUnit::mm, "mm", "mm") + choice(LengthUnit::inch, "in", "inches") +
         "</fieldset>\n";
}

std::string header(const PageHead& head) {
  std::string photos;
  for (const std::string& photo : head.photos) {
    photos += (photos.empty() ? " " : ", ") + escaped(photo);
  }
  return "<header class=\"" + std::string(name(head.verdict)) +
         "\">\n<h1><span aria-hidden=\"true\">" + sign_of(head.verdict) + "</span> " +
         escaped(head.headline) + "</h1>\n<p>" + escaped(head.what) + photos + "</p>\n</header>\n";
}

}  // namespace

InUnits length_in_units(double mm) {
  return in_units([&](LengthUnit unit) { return format_length(mm, unit); });
}

std::string escaped(std::string_view text) {
  std::string safe;
  safe.reserve(text.size());
  for (const char c : text) {
    switch (c) {
      case '&':
        safe += "&amp;";
        break;
      case '<':
        safe += "&lt;";
        break;
      case '>':
        safe += "&gt;";
        break;
      case '"':
        safe += "&quot;";
        break;
      case '\'':
        safe += "&#39;";
        break;
      default:
        safe += c;
    }
  }
  return safe;
}

std::string escaped(const std::string& text) { return escaped(std::string_view(text)); }
std::string escaped(const char* text) { return escaped(std::string_view(text)); }

std::string escaped(const InUnits& words) {
  if (words.mm == words.in) return escaped(words.mm);
  return "<span class=\"mm\">" + escaped(words.mm) + "</span><span class=\"in\">" +
         escaped(words.in) + "</span>";
}

std::string base64(std::span<const uchar> bytes) {
  constexpr std::string_view kDigits =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  text.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t have = std::min<std::size_t>(3, bytes.size() - i);
    unsigned group = 0;
    for (std::size_t k = 0; k < 3; ++k) group = (group << 8U) | (k < have ? bytes[i + k] : 0U);
    for (std::size_t k = 0; k < 4; ++k) {
      text += k <= have ? kDigits[(group >> (18U - 6U * k)) & 63U] : '=';
    }
  }
  return text;
}

std::string page_html(const PageHead& head, const std::string& main, const PageExtra& extra) {
  const std::string own = extra.script.empty() ? "" : "<script>" + extra.script + "</script>\n";
  const std::string title = head.unit == LengthUnit::mm ? head.headline.mm : head.headline.in;
  const std::string photo = head.photos.empty() ? "" : " - " + head.photos.front();
  return "<!DOCTYPE html>\n<html lang=\"en\" data-unit=\"" +
         std::string(head.unit == LengthUnit::mm ? "mm" : "in") +
         "\">\n<head>\n<meta charset=\"utf-8\">\n"
         "<meta http-equiv=\"Content-Security-Policy\" content=\"" +
         policy(extra) +
         "\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
         "<meta name=\"color-scheme\" content=\"light dark\">\n"
         "<meta name=\"generator\" content=\"evenbevel " EVENBEVEL_VERSION "\">\n<title>" +
         escaped(title + photo) + "</title>\n<style>\n" + page_style() + extra.style +
         "</style>\n</head>\n<body>\n" + header(head) + "<main>\n" + units_switch(head.unit) +
         main + "</main>\n<script>" + page_script() + "</script>\n" + own + "</body>\n</html>\n";
}

std::string section(const std::string& title, const std::string& body, const char* look) {
  if (body.empty()) return "";
  const std::string style = *look == '\0' ? "" : std::string(" class=\"") + look + "\"";
  return "<section" + style + ">\n<h2>" + escaped(title) + "</h2>\n" + body + "</section>\n";
}

std::string sheet(const std::string& picture, const std::string& numbers,
                  const std::string& charts) {
  return std::string("<div class=\"sheet") + (picture.empty() ? " bare" : "") + "\">\n" + picture +
         "<div class=\"numbers\">\n" + numbers + "</div>\n<div class=\"charts\">\n" + charts +
         "</div>\n</div>\n";
}

std::string list(const std::vector<InUnits>& items) {
  std::string html;
  for (const InUnits& item : items) html += "<li>" + escaped(item) + "</li>\n";
  return html.empty() ? "" : "<ul>\n" + html + "</ul>\n";
}

std::string list(const std::vector<std::string>& items) { return list(paired(items, items)); }

std::string folded(const InUnits& title, const std::string& body) {
  return "<details>\n<summary>" + escaped(title) + "</summary>\n" + body + "</details>\n";
}

std::string cautions_html() { return section("Cautions", list(cautions()), "cautions"); }

std::string figure(const PagePicture& picture, LengthUnit unit) {
  const bool in_mm = unit == LengthUnit::mm;
  const auto image = [&](const std::vector<uchar>& jpeg, const std::string& look) {
    return "<img" + look + " alt=\"" + escaped(picture.words) + "\" src=\"data:image/jpeg;base64," +
           base64(jpeg) + "\">\n";
  };
  std::string html = "<figure class=\"picture\">\n";
  if (picture.other_jpeg.empty()) {
    html += image(picture.jpeg, "") + "<figcaption>The picture is in " + (in_mm ? "mm" : "inches") +
            ".</figcaption>\n";
  } else {
    html += image(picture.jpeg, in_mm ? " class=\"mm\"" : " class=\"in\"") +
            image(picture.other_jpeg, in_mm ? " class=\"in\"" : " class=\"mm\"") +
            "<figcaption></figcaption>\n";
  }
  return html + "</figure>\n";
}

}  // namespace evenbevel
