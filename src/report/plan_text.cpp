#include <algorithm>
#include <cmath>
#include <iomanip>
#include <sstream>

#include "evenbevel/plan_report.hpp"
#include "plan/quantities.hpp"
#include "report/text_pieces.hpp"
#include "units/fixed.hpp"

namespace evenbevel {
namespace {

using Q = PlanQuantity;

std::string wrapped(const std::string& sentence, const std::string& indent) {
  std::istringstream words(sentence);
  std::string text, line = indent;
  for (std::string word; words >> word;) {
    if (line.size() > indent.size() && line.size() + 1 + word.size() > kTextColumns) {
      text += line + '\n';
      line = indent;
    }
    if (line.size() > indent.size()) line += ' ';
    line += word;
  }
  return text + line + '\n';
}

LengthUnit other(LengthUnit unit) {
  return unit == LengthUnit::mm ? LengthUnit::inch : LengthUnit::mm;
}

/// "1.143 mm (0.0450 in)"
std::string both(double mm, LengthUnit unit) {
  return format_length(mm, unit) + " (" + format_length(mm, other(unit)) + ')';
}

std::string degrees_number(double angle_rad) { return fixed(degrees(angle_rad), 2); }

class Table {
 public:
  explicit Table(std::vector<std::string> head) { rows_.push_back(std::move(head)); }
  void add(std::vector<std::string> row) { rows_.push_back(std::move(row)); }

  /// First column to the left, the others to the right.
  std::string text() const {
    std::vector<std::size_t> widths(rows_.front().size(), 0);
    for (const auto& row : rows_) {
      for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], row[i].size());
    }
    std::string out;
    for (const auto& row : rows_) {
      std::string line = "  " + padded(row.front(), widths.front());
      for (std::size_t i = 1; i < row.size(); ++i) line += "  " + padded(row[i], widths[i], true);
      out += line.substr(0, line.find_last_not_of(' ') + 1) + '\n';
    }
    return out;
  }

 private:
  std::vector<std::vector<std::string>> rows_;
};

std::string origin_words(const PlanValue& value) {
  if (value.given) return "given";
  std::vector<std::string> words;
  for (const Q quantity : value.from) words.emplace_back(label(quantity));
  return "from " + listed(words);
}

std::string values_text(const Plan& plan, LengthUnit unit) {
  std::string text;
  for (const auto& [quantity, value] : plan.values) {
    std::string line = "  " + padded(std::string(label(quantity)), 28);
    if (is_angle(quantity)) {
      line += padded(format_angle(value.value), 13, true) + padded("", 13);
    } else {
      line += padded(format_length(value.value, unit), 13, true) +
              padded(format_length(value.value, other(unit)), 13, true);
    }
    const std::string origin = origin_words(value);
    const std::size_t room = kTextColumns - line.size() - 2;
    text += line + "  " + (origin.size() <= room ? origin : "worked out") + '\n';
  }
  return text;
}

std::string scribe_text(const Plan& plan, LengthUnit unit) {
  const std::optional<double> line = plan.at(Q::scribe_height);
  if (!line) return "";
  std::string text = "\nScribe lines\n" +
                     wrapped("Height gauge at " + both(*line, unit) +
                                 ": scribe one line, turn the blade over on the plate, scribe the "
                                 "other at the same setting.",
                             "  ");
  text += wrapped(
      "Turned over, the lines stand evenly about the middle even if the gauge's zero is off; only "
      "the gap between them changes, by twice the fault.",
      "  ");
  if (plan.far_line_mm) {
    text += wrapped("Without turning over: " + format_length(*line, unit) + " and " +
                        format_length(*plan.far_line_mm, unit) +
                        " from the same face; then a zero that is off moves both off the middle.",
                    "  ");
  }
  return text;
}

std::string drills_text(const Plan& plan, LengthUnit unit) {
  if (!plan.far_line_mm) return "";
  const double wanted_mm = *plan.at(Q::stock) - *plan.at(Q::land);
  std::string text = "\nDrill laid on the plate, marks at half its diameter: stock - land is " +
                     both(wanted_mm, unit) + '\n';
  if (plan.drill_choices.empty()) return text + "  no drill leaves a gap near the land\n";
  Table table({"size", "diameter", "line at", "gap left", "gap - land", ""});
  for (const DrillChoice& choice : plan.drill_choices) {
    table.add({choice.drill.name, format_length(choice.drill.diameter_mm, unit),
               format_length(choice.line_mm, unit), format_length(choice.gap_mm, unit),
               format_signed_length(choice.gap_mm - *plan.at(Q::land), unit),
               choice.nearest ? "nearest" : ""});
  }
  return text + table.text() +
         wrapped(
             "Measure the drill: it runs under its size, a worn one more. A wider gap leaves "
             "steel on.",
             "  ");
}

std::string rests_text(const Plan& plan, LengthUnit unit) {
  if (plan.rests.empty()) return "";
  const std::optional<double> rest_length = plan.at(Q::rest_length);
  std::string text = "\nWork rest or jig plate, the blade's flat lying on it\n";
  std::vector<std::string> head{"", "plate to belt", "from square"};
  if (rest_length) head.emplace_back("shim, from parallel");
  Table table(head);
  for (const RestSetting& rest : plan.rests) {
    std::vector<std::string> row{rest.what, format_angle(rest.to_belt_rad),
                                 format_angle(rest.from_square_rad)};
    if (rest.shim_mm) row.push_back(both(*rest.shim_mm, unit));
    table.add(row);
  }
  text += table.text();
  if (rest_length) {
    text += wrapped("The shim stands " + format_length(*rest_length, unit) +
                        " from the end that the plate turns about, measured along the plate.",
                    "  ");
  }
  if (plan.spine_lift_mm) {
    text += wrapped("Sharpening on a stone: the spine's near corner stands " +
                        both(*plan.spine_lift_mm, unit) + " above it.",
                    "  ");
  }
  return text;
}

std::string edge_text(const Plan& plan, LengthUnit unit) {
  std::string text;
  if (plan.facet) {
    text += "\nEdge facets at " + format_angle(plan.request.facet_angle_rad) + "\n" +
            wrapped("They run up " + both(plan.facet->height_mm, unit) + ", each " +
                        format_length(plan.facet->width_mm, unit) + " wide.",
                    "  ");
  }
  if (!plan.behind_edge.empty()) {
    const bool sharpened = sharpening_shows(plan);
    text += "\nThickness behind the edge\n";
    std::vector<std::string> head{"depth", "as ground"};
    if (sharpened) head.emplace_back("sharpened");
    Table table(head);
    for (const BehindEdge& row : plan.behind_edge) {
      std::vector<std::string> cells{both(row.depth_mm, unit), both(row.ground_mm, unit)};
      if (sharpened && row.sharpened_mm) cells.push_back(both(*row.sharpened_mm, unit));
      table.add(cells);
    }
    text += table.text();
  }
  return text;
}

std::string bevel_line_text(const Plan& plan) {
  if (!plan.bevel_line) return "";
  return "\nBevel line\n" +
         wrapped("Every thou off a bevel moves its line " + fixed(plan.bevel_line->off_bevel, 1) +
                     " thou toward the spine, every 0.01 mm by that many hundredths. Every thou "
                     "off a flat brings it " +
                     fixed(plan.bevel_line->off_flat, 1) + " thou back.",
                 "  ");
}

std::string stations_text(const Plan& plan, LengthUnit unit) {
  if (plan.stations.empty()) return "";
  const PlanStation& first = plan.stations.front();
  std::vector<std::string> head{"from plunge", "thickness", "off each face"};
  if (first.scribe_height_mm) head.emplace_back("scribe at");
  if (first.bevel_height_mm) {
    head.push_back("bevel at " + format_angle(*plan.at(Q::bevel_angle)));
  }
  if (first.bevel_angle_rad) {
    head.push_back("angle at " + format_length(*plan.at(Q::bevel_height), unit));
  }
  Table table(head);
  for (const PlanStation& station : plan.stations) {
    std::vector<std::string> row{format_length(station.x_mm, unit),
                                 format_length(station.thickness_mm, unit),
                                 format_length(station.off_face_mm, unit)};
    if (station.scribe_height_mm) row.push_back(format_length(*station.scribe_height_mm, unit));
    if (station.bevel_height_mm) row.push_back(format_length(*station.bevel_height_mm, unit));
    if (station.bevel_angle_rad) row.push_back(degrees_number(*station.bevel_angle_rad) + " deg");
    table.add(row);
  }
  return "\nDistal taper: either keep the angle and let the bevel line fall, or keep the height\n" +
         table.text();
}

std::string gaps_text(const Plan& plan) {
  if (plan.gaps.empty()) return "";
  std::string text = "\nNot worked out\n";
  for (const PlanGap& gap : plan.gaps) {
    text += wrapped(gap.what + ": give " + any_of_these(gap.give), "  ");
  }
  return text;
}

}  // namespace

std::string plan_text(const Plan& plan, LengthUnit unit) {
  const std::string head = plan.request.knife.empty() ? "set-up" : plan.request.knife;
  return head + ": symmetric section, flat grind; both faces alike\n" + values_text(plan, unit) +
         scribe_text(plan, unit) + drills_text(plan, unit) + edge_text(plan, unit) +
         bevel_line_text(plan) + rests_text(plan, unit) + stations_text(plan, unit) +
         gaps_text(plan);
}

}  // namespace evenbevel
