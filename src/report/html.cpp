#include <cmath>

#include "evenbevel/advice.hpp"
#include "evenbevel/report.hpp"
#include "evenbevel_version.hpp"
#include "report/html_parts.hpp"
#include "report/quantities.hpp"
#include "report/sha256.hpp"
#include "report/words.hpp"

namespace evenbevel {
namespace {

std::string section(const std::string& title, const std::string& body) {
  return body.empty() ? "" : "<section>\n<h2>" + escaped(title) + "</h2>\n" + body + "</section>\n";
}

std::string list(const std::vector<std::string>& items) {
  std::string html;
  for (const std::string& item : items) html += "<li>" + escaped(item) + "</li>\n";
  return html.empty() ? "" : "<ul>\n" + html + "</ul>\n";
}

std::string sentence(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 32);
  return text.ends_with('.') ? text : text + ".";
}

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

std::string header(const EdgeResult& result, const Photo& photo, const ReportSettings& settings) {
  const Verdict verdict = edge_verdict(result, settings);
  return "<header class=\"" + std::string(name(verdict)) + "\">\n<p class=\"headline\"><span>" +
         sign_of(verdict) + "</span> " + escaped(verdict_headline(result, settings)) + "</p>\n<p>" +
         escaped(sentence(view_words(result) + ", " + stage_words(result.stage))) + " " +
         escaped(photo.name) + "</p>\n</header>\n";
}

std::string note(const EdgeQuantity& quantity, const Measured& value, const EdgeResult& result,
                 LengthUnit unit) {
  if (quantity.member == &EdgeResult::centreline_offset_mm) return toward(value);
  if (quantity.member == &EdgeResult::centreline_offset_worst_mm) {
    return "at x = " + printed_position(result.worst_x_mm, unit);
  }
  return "";
}

std::string summary(const EdgeResult& result, const ReportSettings& settings) {
  std::string html = "<table class=\"summary\">\n";
  for (const EdgeQuantity& quantity : edge_quantities()) {
    const std::optional<Measured> value = measured(result.*quantity.member);
    if (!value) continue;
    const Printed number = printed(quantity, *value, settings.unit);
    const std::string aside = note(quantity, *value, result, settings.unit);
    html += "<tr><th scope=\"row\">" + escaped(quantity.label) + "</th><td class=\"value\">" +
            escaped(number.value) + "</td><td class=\"u\">U95 " + escaped(number.U95) +
            (aside.empty() ? "" : "<br>" + escaped(aside)) + "</td></tr>\n";
  }
  return html + "</table>\n<p class=\"quiet\">" + escaped(sentence(left_and_right())) + " " +
         escaped(sentence(origin_sentence(result))) + "</p>\n";
}

std::string how_to_read() {
  return list(
      {"The centreline offset is the middle of the land, or of the two scribe lines, measured from "
       "the middle of the two flats at the same place. Plus is toward the left face.",
       "U95: the true value lies within this much of the printed one, 95 times in 100.",
       "A verdict looks at the whole interval of the worst place. Where it holds both sides of the "
       "tolerance, this photo cannot tell, and says so.",
       "The symmetry zone is twice the worst offset: the width that a drawing would state.",
       "In the picture, the dashed middle line is the middle of the flats as the camera sees it at "
       "the edge's height. Scales across the blade and of the offset are enlarged by the factors "
       "stated there."});
}

std::string row(const std::string& label, const std::string& value) {
  return value.empty() ? ""
                       : "<tr><th scope=\"row\">" + escaped(label) + "</th><td>" + escaped(value) +
                             "</td></tr>\n";
}

std::string camera_words(const CameraModel& camera) {
  if (camera.file.empty()) return "no camera file: a guess, and a wider uncertainty";
  const std::optional<std::string> hash = sha256_of_file(camera.file);
  return camera.file + (hash ? ", SHA-256 " + *hash : "");
}

std::string card_words(const EdgeResult& result) {
  if (!result.pose) return "none (quick look): the thickness is the ruler";
  return "edge card, " + std::to_string(result.pose->corners) + " corners used of " +
         std::to_string(result.corners_found) + " found";
}

std::string provenance(const EdgeResult& result, const EdgeSettings& with, const Photo& photo,
                       const CameraModel& camera, const ReportSettings& settings) {
  const LengthUnit unit = settings.unit;
  std::string html = "<table>\n";
  html += row("program", "evenbevel " EVENBEVEL_VERSION);
  html += row("command", settings.command_line);
  html += row("photo", photo.name);
  html += row("camera", camera_words(camera));
  html += row("card", card_words(result));
  html += row("stock thickness", format_length(with.thickness_mm, unit) + ", u " +
                                     format_length(with.thickness_u_mm, unit));
  html += row("stations every", format_length(with.step_mm, unit));
  if (settings.tolerance_mm) html += row("tolerance", format_length(*settings.tolerance_mm, unit));
  if (settings.wanted_land_mm) {
    html += row("wanted land", format_length(*settings.wanted_land_mm, unit));
  }
  html += row("stations seen", std::to_string(std::lround(100.0 * seen_share(result))) + " %");
  return html + "</table>\n";
}

std::vector<std::string> in_unit(LengthUnit unit, std::vector<std::string> sentences) {
  for (std::string& sentence : sentences) sentence = sentence_in(unit, sentence);
  return sentences;
}

}  // namespace

std::string edge_html(const EdgeResult& result, const EdgeSettings& measured_with,
                      const Photo& photo, const CameraModel& camera, const ReportSettings& settings,
                      const std::vector<uchar>& picture_jpeg) {
  const std::vector<std::string> advice =
      edge_advice(result, settings.wanted_land_mm, settings.tolerance_mm, settings.unit);
  std::string html =
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta name=\"color-scheme\" content=\"light dark\">\n<title>" +
      escaped(verdict_headline(result, settings) + " - " + photo.name) + "</title>\n<style>\n" +
      html_style() + "</style>\n</head>\n<body>\n";
  html += header(result, photo, settings);
  html += "<main>\n<p class=\"first\">" + escaped(advice.front()) + "</p>\n";
  html += summary(result, settings);
  html += "<p>" + escaped(sentence("verdict: " + verdict_sentence(result, settings))) + "</p>\n";
  html += section("Warnings", list(in_unit(settings.unit, all_warnings(result, photo))));
  html +=
      "<figure>\n<img alt=\"The blade's edge, straightened and enlarged, with its traces, "
      "middle line and offset\" src=\"data:image/jpeg;base64," +
      base64(picture_jpeg) + "\">\n</figure>\n";
  html += section("Offset along the blade", offset_svg(result, settings));
  html += section("What to do", list(advice));
  html += section("A better photo", list(in_unit(settings.unit, result.advice)));
  html += section("How to read it", how_to_read());
  html += section("Where the uncertainty comes from", budget_html(result, settings.unit));
  html += section("Stations", station_table_html(result, settings.unit));
  html +=
      section("How it was measured", provenance(result, measured_with, photo, camera, settings));
  html += section("Cautions", list(cautions()));
  return html + "</main>\n</body>\n</html>\n";
}

}  // namespace evenbevel
