#include "advice/sentences.hpp"

#include <algorithm>
#include <cmath>

#include "advice/aim.hpp"
#include "advice/numbers.hpp"

namespace evenbevel {
namespace {

std::string length(const Measured& mm, LengthUnit unit) {
  Measured size = mm;
  size.value = std::abs(mm.value);
  return printed_length(size, unit).value;
}

std::string interval_words(const Measured& mm, LengthUnit unit) {
  return "U95 " + printed_length(mm, unit).U95;
}

const char* other(Face face) { return face == Face::left ? "right" : "left"; }
const char* word(Face face) { return face == Face::left ? "left" : "right"; }

const Measured& need_of(const Need& need, Face face) {
  return face == Face::left ? need.left_mm : need.right_mm;
}

/// "0.031 mm"; where it changes along the zone by more than its interval "0.021 to 0.094 mm (most
/// at x = 84 mm)"; "up to 0.094 mm" when the least is not resolved.
std::string amount(const Zone& zone, Face face, LengthUnit unit, bool with_place = true) {
  const auto by_size = [face](const Need& a, const Need& b) {
    return std::abs(need_of(a, face).value) < std::abs(need_of(b, face).value);
  };
  const auto [least, most] = std::minmax_element(zone.needs.begin(), zone.needs.end(), by_size);
  const Measured mean = need_of(zone.mean, face);
  const double change =
      std::abs(need_of(*most, face).value) - std::abs(need_of(*least, face).value);
  if (change <= 2.0 * U95(mean)) return length(mean, unit);
  const Measured high{.value = need_of(*most, face).value, .u = mean.u, .dof = mean.dof};
  const std::string place =
      with_place ? " (most at x = " + printed_position(most->x_mm, unit) + ")" : "";
  const std::string most_text = length(high, unit) + place;
  if (standing(need_of(*least, face)) == Standing::on_line) return "up to " + most_text;
  const Measured low{.value = need_of(*least, face).value, .u = mean.u, .dof = mean.dof};
  std::string low_text = length(low, unit);
  low_text.resize(low_text.find(' '));
  return low_text + " to " + most_text;
}

const char* surface(Stage stage) { return stage == Stage::bevelled ? "bevel" : "facet"; }

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 32);
  return text;
}

// ---- ground and bevelled ----

std::string take_off(const Zone& zone, Face face, const AdviceContext& context) {
  return amount(zone, face, context.unit) + " off the " + word(face) + " " + surface(context.stage);
}

/// Both borders on their lines, or centred as far as the photo tells.
std::string nothing_to_grind(const Zone& zone, const AdviceContext& context) {
  const std::string U = " (" + interval_words(zone.mean.offset_mm, context.unit) + ")";
  if (zone.mean.within_tolerance && !context.wanted_mm) {
    return capital(where(zone, context)) + " leave it: the edge is centred within " +
           format_length(*context.tolerance_mm, context.unit) + U + ".";
  }
  if (context.wanted_mm) {
    return capital(where(zone, context)) +
           " leave it: both sides of the land are at their lines, as far as this photo can tell" +
           U + ".";
  }
  return capital(where(zone, context)) +
         " take nothing off on the strength of this photo: any offset is smaller than it resolves" +
         U + ".";
}

std::vector<LandBorders> borders_of(const Zone& zone) {
  std::vector<LandBorders> borders;
  for (const Need& need : zone.needs) {
    if (!need.width_mm) continue;
    const double half_mm = 0.5 * need.width_mm->value;
    borders.push_back(
        {.left_mm = need.offset_mm.value + half_mm, .right_mm = need.offset_mm.value - half_mm});
  }
  return borders;
}

/// The most that the aim takes off one face anywhere in the zone.
double most_taken_off(const std::vector<LandBorders>& borders, const LandAim& aim, Face face) {
  double most_mm = 0.0;
  for (const LandBorders& here : borders) {
    const double off_mm =
        face == Face::left ? here.left_mm - aim.left_mm : aim.right_mm - here.right_mm;
    most_mm = std::max(most_mm, off_mm);
  }
  return most_mm;
}

/// One face is past its line: a narrower land can still be centred, or the edge comes down.
std::string past_its_line(const Zone& zone, Face past, const AdviceContext& context) {
  const Face can_lose = past == Face::left ? Face::right : Face::left;
  const std::vector<LandBorders> borders = borders_of(zone);
  const std::optional<LandAim> aim = centred_land(borders, *context.wanted_mm);
  const Measured& offset = zone.mean.offset_mm;
  const Measured width = *zone.mean.width_mm;
  std::string text = capital(where(zone, context)) + " the " + word(past) + " " +
                     surface(context.stage) + " is already " + amount(zone, past, context.unit) +
                     " past its line: ";
  if (standing(offset) == Standing::on_line) {
    text += "leave both sides, the land is centred as far as this photo can tell";
  } else if (aim && aim->width_mm() > 0.0) {
    const Measured land{.value = aim->width_mm(), .u = width.u + 2.0 * offset.u, .dof = offset.dof};
    const Measured off{
        .value = most_taken_off(borders, *aim, can_lose), .u = 2.0 * offset.u, .dof = offset.dof};
    text += "the best centre left is a land of " + length(land, context.unit) + ", by taking " +
            length(off, context.unit) + " off the " + word(can_lose) + " one only";
  } else {
    text += "it has crossed the middle, so the edge cannot be centred at this height";
  }
  if (context.stage == Stage::ground) {
    const LandAim lower = full_land(borders, *context.wanted_mm, context.tan_facet);
    const Measured by{.value = lower.lowered_mm,
                      .u = need_of(zone.mean, past).u / context.tan_facet,
                      .dof = offset.dof};
    text += "; or lower the edge by " + length(by, context.unit) + " first and keep a land of " +
            format_length(*context.wanted_mm, context.unit);
  }
  return text + ".";
}

std::string both_past(const Zone& zone, const AdviceContext& context) {
  const Measured& width = *zone.mean.width_mm;
  const Measured& offset = zone.mean.offset_mm;
  const Measured twice{.value = 2.0 * offset.value, .u = 2.0 * offset.u, .dof = offset.dof};
  std::string text = capital(where(zone, context)) + " the land is already down to " +
                     length(width, context.unit) + ", under the wanted " +
                     format_length(*context.wanted_mm, context.unit) + ": ";
  if (standing(offset) == Standing::on_line) return text + "take no more off either side.";
  const Face stands_toward = offset.value > 0.0 ? Face::left : Face::right;
  return text + "only centre it, by taking " + length(twice, context.unit) + " off the " +
         word(stands_toward) + " " + surface(context.stage) + ".";
}

std::string grind_sentence(const Zone& zone, const AdviceContext& context) {
  if (zone.mean.within_tolerance && !context.wanted_mm) return nothing_to_grind(zone, context);
  const bool left = zone.left == Standing::outside;
  const bool right = zone.right == Standing::outside;
  if (zone.left == Standing::past && zone.right == Standing::past) return both_past(zone, context);
  if (zone.left == Standing::past) return past_its_line(zone, Face::left, context);
  if (zone.right == Standing::past) return past_its_line(zone, Face::right, context);
  if (!left && !right) return nothing_to_grind(zone, context);
  const std::string place = capital(where(zone, context));
  if (left && right) {
    return place + " take " + take_off(zone, Face::left, context) + " and " +
           take_off(zone, Face::right, context) + ".";
  }
  const Face face = left ? Face::left : Face::right;
  const char* why = context.wanted_mm ? " one is at its line" : " one";
  return place + " take " + take_off(zone, face, context) +
         (context.wanted_mm ? std::string("; the ") + other(face) + why
                            : std::string(" and leave the ") + other(face) + why) +
         ".";
}

// ---- scribed ----

std::string grind_to_line(const Zone& zone, Face face, const AdviceContext& context) {
  const Standing line = face == Face::left ? zone.left : zone.right;
  if (line == Standing::on_line) return std::string("to the ") + word(face) + " line";
  const std::string by = length(need_of(zone.mean, face), context.unit);
  return by + (line == Standing::outside ? " past the " : " short of the ") + word(face) + " line";
}

/// "0.035 mm", with the place of the most where it changes along the zone.
std::string off_centre_by(const Zone& zone, LengthUnit unit) {
  const Measured& mean = zone.mean.offset_mm;
  const auto most =
      std::max_element(zone.needs.begin(), zone.needs.end(), [](const Need& a, const Need& b) {
        return std::abs(a.offset_mm.value) < std::abs(b.offset_mm.value);
      });
  const double beyond = std::abs(most->offset_mm.value) - std::abs(mean.value);
  if (beyond <= U95(mean)) return length(mean, unit);
  const Measured worst{.value = most->offset_mm.value, .u = mean.u, .dof = mean.dof};
  return length(mean, unit) + " (up to " + length(worst, unit) +
         " at x = " + printed_position(most->x_mm, unit) + ")";
}

std::string scribe_sentence(const Zone& zone, const AdviceContext& context) {
  const Measured& offset = zone.mean.offset_mm;
  const std::string place = capital(where(zone, context));
  const bool on_lines = zone.left == Standing::on_line && zone.right == Standing::on_line;
  if (zone.mean.within_tolerance && (!context.wanted_mm || on_lines)) {
    return place + " grind to the lines: they are centred within " +
           format_length(*context.tolerance_mm, context.unit) + " (" +
           interval_words(offset, context.unit) + ").";
  }
  if (on_lines) {
    return place + " the lines are as they should be, as far as this photo can tell (" +
           interval_words(offset, context.unit) + ").";
  }
  const bool off_centre = standing(offset) != Standing::on_line;
  const std::string off = off_centre
                              ? "stand " + off_centre_by(zone, context.unit) + " toward the " +
                                    word(offset.value > 0.0 ? Face::left : Face::right) + " face"
                              : "have the wrong gap";
  return place + " the lines " + off + ": scribe again, or grind " +
         grind_to_line(zone, Face::left, context) + " and " +
         grind_to_line(zone, Face::right, context) + ".";
}

}  // namespace

std::string where(const Zone& zone, const AdviceContext& context) {
  constexpr double kWhole = 0.9;  // the share of the measured stretch that counts as all of it
  if (zone.length_mm() >= kWhole * (context.to_mm - context.from_mm)) {
    return "along the whole blade";
  }
  return "from x = " + printed_position_number(zone.from_mm, context.unit) + " to " +
         printed_position(zone.to_mm, context.unit);
}

Standing face_standing(const Zone& zone, Face face, const AdviceContext& context) {
  if (zone.mean.within_tolerance && !context.wanted_mm) return Standing::on_line;
  return face == Face::left ? zone.left : zone.right;
}

std::string face_words(const Zone& zone, Face face, const AdviceContext& context) {
  const Standing what = face_standing(zone, face, context);
  const std::string by = amount(zone, face, context.unit, false);
  if (context.stage == Stage::scribed) {
    if (what == Standing::on_line) return "to the line";
    return by + (what == Standing::outside ? " past the line" : " short of the line");
  }
  if (what == Standing::on_line) return "leave";
  return what == Standing::outside ? "off " + by : by + " past its line";
}

std::string zone_sentence(const Zone& zone, const AdviceContext& context) {
  return context.stage == Stage::scribed ? scribe_sentence(zone, context)
                                         : grind_sentence(zone, context);
}

std::string plunge_sentence(const Measured& mismatch_mm, const std::string& who_resolves,
                            LengthUnit unit) {
  if (std::abs(mismatch_mm.value) <= U95(mismatch_mm)) {
    return "Any plunge line mismatch is smaller than " + who_resolves + " (U95 " +
           printed_length(mismatch_mm, unit).U95 + ").";
  }
  const bool left = mismatch_mm.value > 0.0;
  Measured size_mm = mismatch_mm;
  size_mm.value = std::abs(size_mm.value);
  return std::string("The ") + (left ? "left" : "right") + " plunge line is " +
         printed_length(size_mm, unit).value + " nearer the tip: bring it back toward the handle " +
         "to meet the " + (left ? "right" : "left") + " one.";
}

}  // namespace evenbevel
